"""All settings, each read from the environment by a typed reader. README lists them in one table.

The safe value is the default; the development machine and the demo loosen what they must, in the Makefile.
"""

from pathlib import Path

from django.core.exceptions import ImproperlyConfigured
from environs import Env

env = Env()
BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.str("DATA_DIR", str(BASE_DIR / "var")))

DEBUG = env.bool("DEBUG", False)
SECRET_KEY = env.str("SECRET_KEY", "")
if len(SECRET_KEY) < 32:
    raise ImproperlyConfigured(
        "Creasemark does not start without a secret: set SECRET_KEY to at least 32 random characters "
        "(for instance from: python3 -c 'import secrets; print(secrets.token_urlsafe(48))')."
    )
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", ["127.0.0.1", "localhost", "[::1]"])
CSRF_TRUSTED_ORIGINS: list[str] = env.list("CSRF_TRUSTED_ORIGINS", [])

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "accounts",
    "bank",
    "assignments",
    "config.apps.ConfigConfig",
]
MIDDLEWARE = [
    "config.middleware.answer_watchers",
    "config.middleware.keep_log",
    "config.short_way.short_way",
    "config.middleware.keep_from_caches",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.middleware.keep_to_own_content",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
ASGI_APPLICATION = "config.asgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

# --- database ---------------------------------------------------------------------------------------
DATABASES = {"default": env.dj_db_url("DATABASE_URL", f"sqlite:///{DATA_DIR / 'creasemark.sqlite3'}")}
_database = DATABASES["default"]
if _database["ENGINE"].endswith("sqlite3"):
    # An answer is acknowledged once it is on the disk: a write-ahead log with full synchronisation, and
    # write locks taken when a transaction starts, so that two savers queue instead of failing. What is deleted
    # is overwritten in the file as well.
    _database["CONN_MAX_AGE"] = None
    _database["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON; "
        "PRAGMA secure_delete=ON;",
    }
else:
    _database["ENGINE"] = "config.postgresql"  # takes no line that a restart of the database has cut
    _database["CONN_MAX_AGE"] = 0  # the pool keeps connections open, not the request
    _database["OPTIONS"] = {
        "pool": {"min_size": 1, "max_size": env.int("DATABASE_POOL", 4), "timeout": 20},
        # A statement that comes again is planned once for each connection: planning takes longer than answering.
        "server_side_binding": True,
        "prepare_threshold": 3,
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- tasks, cache, sessions, files ---------------------------------------------------------------------
REDIS_URL = env.str("REDIS_URL", "")
CELERY_BROKER_URL = REDIS_URL or "memory://localhost/"  # the latter is never asked: tasks run in process
CELERY_RESULT_BACKEND = REDIS_URL or None
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL
CELERY_TASK_SERIALIZER = CELERY_RESULT_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_TIME_LIMIT = 300
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# Who saves a question does not wait for a Redis that is away: what is due is found from the database later.
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 3600,
    "socket_connect_timeout": 2,
    "max_retries": 1,
    "interval_start": 0,
    "interval_step": 0.1,
    "interval_max": 0.1,
}
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 1, "interval_start": 0, "interval_step": 0.2}
CELERY_TASK_DEFAULT_QUEUE = env.str("TASK_QUEUE", "creasemark")  # two sites may share one Redis
CELERY_CONTROL_EXCHANGE = CELERY_TASK_DEFAULT_QUEUE  # so that the workers of the other do not answer for ours
CELERY_TASK_IGNORE_RESULT = True
CELERY_WORKER_HIJACK_ROOT_LOGGER = False  # one way of logging, ours
# Nothing that matters lies in the cache. A Redis that takes requests and does not answer is given up soon.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.redis.RedisCache",
        "LOCATION": REDIS_URL,
        "OPTIONS": {"socket_timeout": 0.5, "socket_connect_timeout": 0.5},
    }
    if REDIS_URL
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
}
SESSION_ENGINE = "django.contrib.sessions.backends.db"  # losing Redis signs nobody out
SESSION_COOKIE_AGE = 12 * 60 * 60
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
MEDIA_ROOT = DATA_DIR / "files"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
STATIC_URL = "static/"
STATIC_ROOT = Path(env.str("STATIC_ROOT", str(BASE_DIR / "staticfiles")))
STATICFILES_DIRS = [BASE_DIR / "static"]
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000

# Whoever may read the figures of /metrics/ sends this; without one there are none.
METRICS_TOKEN = env.str("METRICS_TOKEN", "")

# --- people ----------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "accounts.User"
LOGIN_URL = "accounts:sign_in"
LOGIN_REDIRECT_URL = "home"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ["name", "email"]},
    },
]

# Heads of department and administrators sign in with a second factor too. Off only in the demo and the tests.
SECOND_FACTOR_REQUIRED = env.bool("SECOND_FACTOR_REQUIRED", True)

# Sign-in for staff by the school's own provider (OpenID Connect), in place of the password; none without an issuer.
OIDC_ISSUER = env.str("OIDC_ISSUER", "")
OIDC_CLIENT_ID = env.str("OIDC_CLIENT_ID", "")
OIDC_CLIENT_SECRET = env.str("OIDC_CLIENT_SECRET", "")
OIDC_SCHOOL = env.int("OIDC_SCHOOL", 0)

# --- language and time -----------------------------------------------------------------------------------
LANGUAGE_CODE = "en-gb"
TIME_ZONE = env.str("TIME_ZONE", "Europe/London")
USE_TZ = True
USE_I18N = False

# --- locked doors ----------------------------------------------------------------------------------------
# Off only where there is no certificate: the demo and the tests, both on 127.0.0.1.
HTTPS = env.bool("HTTPS", True)
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_REFERRER_POLICY = "same-origin"
if env.bool("BEHIND_PROXY", False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_NAME = "__Host-session" if HTTPS else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if HTTPS else "csrf"
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "accounts.views.refused.page_too_old"
CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)

# --- logs: what was asked and how it went, never by whom (config/logs.py) ---------------------------------
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "no_personal_data": {"()": "config.logs.NoPersonalData"},
        "slow": {"()": "config.logs.SlowOnly", "ms": env.int("SLOW_QUERY_MS", 100)},
    },
    "formatters": {"line": {"()": "config.logs.Line"}},
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": "line",
            "filters": ["no_personal_data"],
        }
    },
    "root": {"handlers": ["stderr"], "level": env.str("LOG_LEVEL", "INFO")},
    # Django's own handlers print paths and mail whole requests; ours, at the root, do not.
    "loggers": {
        "django": {"handlers": [], "level": "INFO"},
        "django.server": {"handlers": []},
        # Statements hold what was typed: they are logged only while developing, and only the slow ones.
        "django.db.backends": {"level": "DEBUG" if DEBUG else "INFO", "filters": ["slow"]},
    },
}
