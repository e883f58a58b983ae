"""Creasemark's own settings, in an environment that touches nothing outside a temporary folder.

``DATABASE_URL`` is taken from the caller, so that the same tests run on SQLite and on PostgreSQL.
"""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="creasemark-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ.update(SECRET_KEY="tests-only-" + "x" * 40, HTTPS="0", DATA_DIR=_folder, LOG_LEVEL="WARNING")
os.environ["STATIC_ROOT"] = os.path.join(_folder, "static")  # noqa: PTH118  (each client of a test reads all there is)
os.mkdir(os.environ["STATIC_ROOT"])  # noqa: PTH102
os.environ["SECOND_FACTOR_REQUIRED"] = "0"  # tests of the second factor switch it on
for _name in ("REDIS_URL", "DEBUG", "ALLOWED_HOSTS", "BEHIND_PROXY"):
    os.environ.pop(_name, None)

from config.settings import *  # noqa: E402, F403

# The same kind of hash as in production, with the least work it allows.
PASSWORD_HASHERS = ["tests.hashers.QuickArgon2"]
STORAGES["staticfiles"] = {  # noqa: F405  (tests collect no static files)
    "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
}
# A file like the real one: threads that share a database in memory lock each other out where a file lets them wait.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):  # noqa: F405
    DATABASES["default"]["TEST"] = {"NAME": os.path.join(_folder, "tests.sqlite3")}  # noqa: F405, PTH118
