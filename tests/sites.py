"""Real sites for tests: a database and files of their own, real web servers and workers in processes."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import psycopg

ROOT = Path(__file__).resolve().parents[1]
POSTGRESQL = "postgres://postgres@127.0.0.1:5432"


@dataclass(frozen=True)
class Site:
    """Where the site is, how its processes are set, and the small school as ``small_school.py`` prints it."""

    address: str
    environment: dict[str, str]
    school: dict


def free_port() -> int:
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        return line.getsockname()[1]


def run(environment: dict[str, str], *words: str, seconds: int = 120) -> str:
    """Run a Python command of the project and return what it printed."""
    command = [sys.executable, *words]
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=seconds)
    assert done.returncode == 0, f"{words} failed:\n{done.stdout}\n{done.stderr}"
    return done.stdout


@contextmanager
def database(kind: str, folder: Path) -> Iterator[str]:
    """The address of a new, empty database, which is gone afterwards."""
    if kind == "sqlite":
        yield f"sqlite:///{folder / 'site.sqlite3'}"
        return
    name = f"creasemark_test_{secrets.token_hex(6)}"
    with psycopg.connect(f"{POSTGRESQL}/postgres", autocommit=True) as line:
        line.execute(f"CREATE DATABASE {name}")
        try:
            yield f"{POSTGRESQL}/{name}"
        finally:
            line.execute(f"DROP DATABASE {name} WITH (FORCE)")


def wait_for(is_so: Callable[[], bool], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < end, f"not so within {seconds} s"
        time.sleep(0.05)


def wait_until_well(address: str, server: subprocess.Popen) -> None:
    end = time.monotonic() + 60  # a machine of two cores may be busy with other tests
    while time.monotonic() < end:
        assert server.poll() is None, "the server ended before it answered"
        try:
            with urlopen(f"{address}/health/", timeout=2) as answer:
                assert answer.status == 200
                return
        except URLError:
            time.sleep(0.05)
    raise AssertionError("the server did not answer within a minute")


@contextmanager
def serving(environment: dict[str, str], *, workers: int, threads: int) -> Iterator[str]:
    """Run the web server in processes of its own; yields its address."""
    port = free_port()
    command = [
        *(sys.executable, "-m", "granian", "--interface", "wsgi", "--port", str(port)),
        *("--workers", str(workers), "--blocking-threads", str(threads), "--log-level", "warning"),
        "config.wsgi:application",
    ]
    server = subprocess.Popen(command, cwd=ROOT, env=environment)
    try:
        wait_until_well(f"http://127.0.0.1:{port}", server)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(timeout=20)


@contextmanager
def working(environment: dict[str, str]) -> Iterator[subprocess.Popen]:
    """Run a Celery worker; it is told to end, and ends, when the block does."""
    command = [sys.executable, "-m", "celery", "--app", "config", "worker", "--pool", "solo"]
    quiet = ["--loglevel", "warning", "--without-gossip", "--without-mingle", "--without-heartbeat"]
    worker = subprocess.Popen([*command, *quiet], cwd=ROOT, env=environment)
    try:
        yield worker
    finally:
        worker.terminate()
        worker.wait(timeout=20)


def environment_of(database_url: str, folder: Path, **more: str) -> dict[str, str]:
    """The environment of a site's processes, and nothing of ours but the path."""
    return {
        "PATH": os.environ["PATH"],
        "SECRET_KEY": "for-tests-only-" + "x" * 40,
        "HTTPS": "0",
        "SECOND_FACTOR_REQUIRED": "0",
        "DATABASE_URL": database_url,
        "DATA_DIR": str(folder),
        "LOG_LEVEL": "WARNING",
        "DJANGO_SETTINGS_MODULE": "config.settings",
    } | more


@contextmanager
def running_site(kind: str, folder: Path, static: Path, migrated: Path | None = None) -> Iterator[Site]:
    """A site on ``kind`` of database ("sqlite", "postgresql") with the small school; ``migrated``: its empty file."""
    with database(kind, folder) as database_url:
        environment = environment_of(database_url, folder, STATIC_ROOT=str(static))
        if migrated:
            shutil.copy(migrated, folder)
        else:
            run(environment, "manage.py", "migrate", "--verbosity", "0")
        school = json.loads(run(environment, "-m", "tests.small_school"))
        one = kind == "sqlite"
        with serving(environment, workers=1 if one else 2, threads=1 if one else 4) as address:
            yield Site(address, environment, school)
