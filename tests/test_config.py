"""Settings, logs and the two pages of config itself."""

from __future__ import annotations

import logging
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.http import HttpRequest
from django.test import Client

from config.logs import Line, NoPersonalData, route_of

ROOT = Path(__file__).resolve().parent.parent
SECRET = "a-secret-for-this-test-only-" + "7c" * 20
PRODUCTION = {
    "SECRET_KEY": SECRET,
    "ALLOWED_HOSTS": "fold.school.example",
    "BEHIND_PROXY": "1",
    "DATABASE_URL": "postgres://postgres@127.0.0.1:5432/postgres",
    "REDIS_URL": "redis://127.0.0.1:6379/0",
}


def manage(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run ``manage.py`` with this environment and no more than a path from ours."""
    environment.setdefault("PATH", os.environ["PATH"])
    command = [sys.executable, "manage.py", *words]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60)


def test_start_without_a_secret_is_refused_in_one_sentence():
    run = manage("check")
    assert run.returncode == 1
    assert run.stderr.startswith("Creasemark does not start without a secret: set SECRET_KEY")
    assert "Traceback" not in run.stderr


def test_a_setting_that_cannot_be_read_is_named():
    run = manage("check", SECRET_KEY=SECRET, HTTPS="perhaps")
    assert run.returncode == 1
    assert run.stderr == 'Environment variable "HTTPS" invalid: Not a valid boolean.\n'


def test_a_database_that_cannot_be_reached_is_said_in_one_sentence(tmp_path):
    run = manage("migrate", SECRET_KEY=SECRET, DATA_DIR=str(tmp_path), DATABASE_URL=f"sqlite:///{tmp_path}")  # a folder
    assert run.returncode == 1
    assert run.stderr.startswith("The database cannot be reached; is it running, and is DATABASE_URL right? (")
    assert "Traceback" not in run.stderr


def test_a_production_site_passes_every_check(tmp_path):
    run = manage("check", "--deploy", "--fail-level", "DEBUG", **PRODUCTION, DATA_DIR=str(tmp_path))
    assert run.stdout.strip() == "System check identified no issues (0 silenced)."
    assert run.returncode == 0


RISKS = [
    {
        "ALLOWED_HOSTS": ("127.0.0.1", "Set ALLOWED_HOSTS"),
        "BEHIND_PROXY": ("0", "Set BEHIND_PROXY=1"),
        "DATABASE_URL": ("sqlite:///x.sqlite3", "Set DATABASE_URL"),
        "REDIS_URL": ("", "Set REDIS_URL"),
        "DATA_DIR": ("/proc/nothing", "Set DATA_DIR"),
    },
    {"HTTPS": ("0", "SECURE_SSL_REDIRECT"), "DEBUG": ("1", "DEBUG set to True")},
]


@pytest.mark.parametrize("risks", RISKS, ids=",".join)
def test_risky_settings_are_named_with_their_cures(risks, tmp_path):
    """Those that say nothing of one another at once: each way to start a process takes over a second."""
    changed = {name: value for name, (value, _) in risks.items()}
    run = manage("check", "--deploy", "--fail-level", "WARNING", **({"DATA_DIR": str(tmp_path)} | PRODUCTION | changed))
    assert run.returncode == 1
    assert [says for _, says in risks.values() if says not in run.stdout + run.stderr] == []


def test_cookies_of_a_production_site_are_bound_to_it():
    code = (
        "from django.conf import settings as s; import django; django.setup(); "
        "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE,"
        "s.SESSION_COOKIE_HTTPONLY, s.CSRF_COOKIE_HTTPONLY, s.SESSION_COOKIE_SAMESITE)"
    )
    environment = PRODUCTION | {"PATH": os.environ["PATH"], "DJANGO_SETTINGS_MODULE": "config.settings"}
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == ["__Host-session", "__Host-csrf", "True", "True", "True", "True", "Lax"]


@pytest.mark.django_db
def test_health_answers_whatever_the_host_and_without_https(settings):
    settings.SECURE_SSL_REDIRECT = True
    response = Client().get("/health/", headers={"host": "10.0.0.7"})
    assert (response.status_code, response.json()) == (200, {"ok": True, "database": True, "queue": None})


@pytest.mark.django_db
def test_health_reports_a_lost_queue_and_stays_well(settings):
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    response = Client().get("/health/")
    assert (response.status_code, response.json()["queue"]) == (200, False)


def test_health_is_ill_without_its_database(monkeypatch):
    monkeypatch.setattr("config.views.database_answers", lambda: False)
    assert Client().get("/health/").status_code == 503


@pytest.mark.django_db
def test_a_fault_shows_a_reference_and_nothing_of_itself(monkeypatch, caplog):
    def fail(*_args, **_kwargs):
        raise ValueError("Key (name)=(Zebedee Quill) already exists")

    monkeypatch.setattr("config.views.redirect", fail)
    response = Client(raise_request_exception=False).get("/")
    assert response.status_code == 500
    reference = response["X-Request-Id"]
    assert re.fullmatch("[0-9a-f]{12}", reference)
    page = response.content.decode()
    assert reference in page
    assert "Zebedee" not in page
    assert "Traceback" not in page


def record_of(request: HttpRequest, message: str, *args, exc_info=None) -> logging.LogRecord:
    record = logging.LogRecord("django.request", logging.ERROR, __file__, 1, message, args, exc_info)
    record.request, record.status_code = request, 404
    return record


def logged(record: logging.LogRecord) -> str:
    NoPersonalData().filter(record)
    return Line().format(record)


def test_logs_hold_no_path_of_a_request():
    request = HttpRequest()
    request.method, request.path = "GET", "/invitation/tOkEn-of-one-person/"
    line = logged(record_of(request, "Not Found: %s", request.path))
    assert "tOkEn" not in line
    assert "GET (no such page) answered 404" in line


def test_a_static_file_is_no_missing_page():
    """Also in the figures: most requests of a first visit are for files."""
    request = HttpRequest()
    request.path = f"{settings.STATIC_URL}css/people.css"
    assert route_of(request) == "(a static file)"


def test_logs_hold_no_words_of_an_exception():
    try:
        try:
            raise KeyError("Zebedee")
        except KeyError as cause:
            raise ValueError("Zebedee again") from cause
    except ValueError:
        line = logged(record_of(HttpRequest(), "broke", exc_info=sys.exc_info()))
    assert line.endswith("ValueError, after KeyError")
    assert "Zebedee again" not in line.replace('raise ValueError("Zebedee again")', "")


def test_a_line_of_the_log_stays_one_line():
    line = Line().format(logging.LogRecord("x", logging.INFO, "", 1, "typed\nINFO forged", (), None))
    assert line.count("\n") == 0


CUT = """
import psycopg
from django.db import connection

def pid():
    with connection.cursor() as cursor:
        return cursor.execute("SELECT pg_backend_pid()").fetchone()[0]

asked = [(pid(), connection.close())[0] for _ in range(8)]
with psycopg.connect("postgres://postgres@127.0.0.1:5432/postgres") as other:
    for line in set(asked):
        other.execute("SELECT pg_terminate_backend(%s, 5000)", (line,))
print(len(set(asked)) < len(asked), pid() in asked)
"""


@pytest.mark.postgresql
def test_a_line_that_the_database_cut_while_it_waited_is_not_used_again(tmp_path):
    run = manage("shell", "--no-imports", "-c", CUT, **PRODUCTION, DATA_DIR=str(tmp_path))
    assert run.stdout.split() == ["True", "False"], run.stderr
