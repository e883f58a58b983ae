"""A production site as README starts it: two web processes, PostgreSQL, Redis and a worker, behind HTTPS.

The proxy is played by the test: it sends the header that a proxy sets, and the name of the site.
"""

from __future__ import annotations

import http.client
import json
import re
import secrets
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from random import Random
from urllib.parse import urlencode, urlsplit

import pytest
from redis import Redis

from tests.faults.browser import Browser
from tests.faults.checker import check
from tests.faults.journal import Journal
from tests.faults.pupil import Pupil
from tests.sites import ROOT, database, environment_of, run, serving, wait_for, working

pytestmark = [pytest.mark.postgresql, pytest.mark.redis]
HOST = "fold.school.example"
REDIS = "redis://127.0.0.1:6379/9"


@pytest.fixture(scope="module")
def environment(tmp_path_factory, static_files) -> Iterator[dict[str, str]]:
    folder = tmp_path_factory.mktemp("production")
    queue = f"test-{secrets.token_hex(6)}"
    with database("postgresql", folder) as url:
        yield environment_of(
            url,
            folder,
            HTTPS="1",
            BEHIND_PROXY="1",
            ALLOWED_HOSTS=HOST,
            CSRF_TRUSTED_ORIGINS=f"https://{HOST}",
            SECOND_FACTOR_REQUIRED="1",
            REDIS_URL=REDIS,
            TASK_QUEUE=queue,
            STATIC_ROOT=str(static_files),
        )
        with Redis.from_url(REDIS) as redis:
            redis.delete(queue, f"_kombu.binding.{queue}")


@pytest.fixture(scope="module")
def address(environment) -> Iterator[str]:
    """The web server, started as ``make serve`` does: checked and migrated; its static files are there."""
    run(environment, "manage.py", "check", "--deploy", "--fail-level", "WARNING")
    run(environment, "manage.py", "migrate", "--verbosity", "0")
    run(environment, "-m", "tests.small_school", "1")
    with serving(environment, workers=2, threads=4) as running:
        yield running


def ask(
    address: str, path: str, *, method: str = "GET", form: dict | None = None, scheme: str = "https", **headers: str
) -> tuple[http.client.HTTPResponse, str]:
    """One request as the proxy passes it on; the answer and its body."""
    line = http.client.HTTPConnection(urlsplit(address).netloc, timeout=10)
    sent = {"Host": HOST, "X-Forwarded-Proto": scheme} | headers
    if form is not None:
        sent["Content-Type"] = "application/x-www-form-urlencoded"
    line.request(method, path, urlencode(form) if form is not None else None, sent)
    answer = line.getresponse()
    return answer, answer.read().decode()


def test_a_request_without_https_is_sent_to_it(address):
    answer, _ = ask(address, "/sign-in/", scheme="http")
    assert (answer.status, answer.getheader("Location")) == (301, f"https://{HOST}/sign-in/")


def test_a_forged_host_is_refused(address):
    answer, page = ask(address, "/sign-in/", Host="elsewhere.example")
    assert answer.status == 400
    assert "elsewhere" not in page


def test_every_answer_shuts_the_usual_doors(address):
    """Headers by OWASP's Secure Headers Project; HSTS for a year, as its preload list asks (hstspreload)."""
    for path in ("/sign-in/", "/pupil/", "/no/such/page/", "/privacy/"):
        answer, _ = ask(address, path)
        assert answer.getheader("Strict-Transport-Security") == "max-age=31536000; includeSubDomains; preload"
        assert answer.getheader("X-Content-Type-Options") == "nosniff"
        assert answer.getheader("X-Frame-Options") == "DENY"
        assert answer.getheader("Referrer-Policy") == "same-origin"
        assert answer.getheader("Cross-Origin-Opener-Policy") == "same-origin"
        policy = dict(part.strip().split(" ", 1) for part in answer.getheader("Content-Security-Policy").split(";"))
        assert policy["default-src"] == policy["frame-ancestors"] == policy["base-uri"] == "'none'"
        assert policy["script-src"] == policy["style-src"] == "'self'"
        assert "Server" not in answer.headers or "granian" in answer.getheader("Server")


def test_cookies_are_bound_to_the_site(address, environment):
    """RFC 6265bis, 4.1.3.2: a name with ``__Host-`` needs Secure and Path=/, and no Domain."""
    answer, page = ask(address, "/sign-in/")
    token = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', page)[1]
    cookie = answer.getheader("Set-Cookie").split(";")[0].strip()
    form = {"csrfmiddlewaretoken": token, "email": "tilda@fernhollow.example", "password": "five-folds-in-a-row"}
    origin = f"https://{HOST}"
    signed_in, _ = ask(address, "/sign-in/", method="POST", form=form, Cookie=cookie, Origin=origin)
    assert signed_in.status == 302
    cookies = [*answer.headers.get_all("Set-Cookie"), *signed_in.headers.get_all("Set-Cookie")]
    assert {line.split("=")[0].strip() for line in cookies} == {"__Host-csrf", "__Host-session"}
    for line in cookies:
        parts = {part.strip().lower() for part in line.split(";")[1:]}
        assert {"secure", "httponly", "path=/", "samesite=lax"} <= parts
        assert not any(part.startswith("domain") for part in parts)


def test_a_form_from_another_site_is_refused(address):
    answer, page = ask(address, "/sign-in/")
    token = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', page)[1]
    cookie = answer.getheader("Set-Cookie").split(";")[0].strip()
    form = {"csrfmiddlewaretoken": token, "email": "a@b.example", "password": "x"}
    refused, _ = ask(address, "/sign-in/", method="POST", form=form, Cookie=cookie, Origin="https://evil.example")
    assert refused.status == 403


def test_static_files_are_compressed_and_kept_for_good(address):
    _, page = ask(address, "/sign-in/")
    path = re.search(r'href="(/static/css/base\.[0-9a-f]{12}\.css)"', page)[1]
    answer = http.client.HTTPConnection(urlsplit(address).netloc, timeout=10)
    answer.request("GET", path, headers={"Host": HOST, "X-Forwarded-Proto": "https", "Accept-Encoding": "gzip"})
    response = answer.getresponse()
    assert response.status == 200
    assert response.getheader("Content-Encoding") == "gzip"
    assert "immutable" in response.getheader("Cache-Control")
    response.read()


def test_health_is_asked_by_number_and_tells_of_the_queue(address, environment):
    answer, body = ask(address, "/health/", scheme="http", Host="127.0.0.1")
    assert (answer.status, body) == (200, '{"ok": true, "database": true, "queue": true}')


@contextmanager
def ticking(environment: dict[str, str], schedule: Path) -> Iterator[subprocess.Popen]:
    """Run the clock of the site, as ``make beat`` does."""
    command = [sys.executable, "-m", "celery", "--app", "config", "beat", "--loglevel", "warning"]
    clock = subprocess.Popen([*command, "--schedule", str(schedule)], cwd=ROOT, env=environment)
    try:
        yield clock
    finally:
        wait_for(lambda: _told_to_end(clock), 20)


def _told_to_end(clock: subprocess.Popen) -> bool:
    """Tell it to end, and whether it has. It loses a signal that comes while it makes its schedule (Celery 5.7)."""
    clock.terminate()
    return clock.poll() is not None


def test_a_class_sits_on_the_processes_that_readme_names(address, environment, tmp_path):
    """Web, worker and clock on PostgreSQL and Redis, behind a proxy: what is acknowledged is there afterwards."""
    size = ["--pupils", "2", "--questions", "2"]
    room = json.loads(run(environment, "manage.py", "practice_class", *size))
    journal, until = Journal(), time.monotonic() + 60
    headers = {"Host": HOST, "X-Forwarded-Proto": "https", "Origin": f"https://{HOST}"}
    browser = partial(Browser, address, headers=headers)
    with working(environment), ticking(environment, tmp_path / "beat") as clock:
        for card in room["pupils"]:
            pupil = Pupil(room, card["name"], card["pin"], browser, journal, Random(card["pin"]))
            pupil.sign_in(until)
            pupil.start(until)
            for _ in range(3):
                pupil.choose()
            pupil.look_at(1, until)
        wait_for(lambda: any(tmp_path.glob("beat*")), 30)
        assert clock.poll() is None
    kept = [json.loads(line) for line in run(environment, "manage.py", "history", str(room["assignment"])).splitlines()]
    assert [answer.said for answer in journal.answers] == ["saved"] * 6
    assert len(kept) == 6
    assert check(journal, kept) == []


def test_a_worker_of_the_site_draws_what_was_saved(address, environment):
    folder = Path(environment["DATA_DIR"])
    with working(environment):
        wait_for(lambda: any(folder.rglob("*@2x.png")), 60)
