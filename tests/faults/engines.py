"""Engines of our own to break: a PostgreSQL cluster, a Redis and the site's processes, never the machine's."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from urllib.request import urlopen

import psycopg
from redis import Redis, RedisError

from tests.sites import ROOT, free_port, wait_for

BINARIES = ("/usr/lib/postgresql/*/bin", "/usr/local/bin", "/usr/bin")
FAKETIME = "*/faketime/libfaketimeMT.so.1"


def is_root() -> bool:
    return os.geteuid() == 0


def postgresql_programs() -> Path:
    """The folder with ``initdb`` and ``postgres``."""
    found = [path.parent for pattern in BINARIES for path in sorted(Path("/").glob(f"{pattern[1:]}/initdb"))]
    assert found, "there is no initdb on this machine (apt install postgresql)"
    return found[0]


def faketime() -> str:
    """The library that gives a process another clock; "" where it is not installed (apt install libfaketime)."""
    return next((str(path) for path in Path("/usr/lib").glob(FAKETIME)), "")


@dataclass
class Engine:
    """A process that can be killed and started again with all that it started itself."""

    command: list[str]
    environment: dict[str, str]
    options: dict = field(default_factory=dict)
    process: subprocess.Popen | None = None

    def start(self) -> None:
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": ROOT}
        self.process = subprocess.Popen(
            self.command, env=self.environment, start_new_session=True, **(quiet | self.options)
        )

    @property
    def is_up(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def signal(self, number: int) -> None:
        """To the process and every one that it started, which share a group of their own."""
        if self.is_up:
            os.killpg(self.process.pid, number)  # type: ignore[union-attr]

    def kill(self) -> None:
        self.signal(signal.SIGKILL)
        if self.process is not None:
            self.process.wait(timeout=20)

    def children(self) -> list[int]:
        assert self.process is not None
        listed = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text()
        return [int(pid) for pid in listed.split()]


class Clock:
    """Another time for processes started under it, changed while they run. Durations go on as they are."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / "clock"
        self.set(0)

    def set(self, seconds: float) -> None:
        self.file.write_text(f"{seconds:+.1f}\n")
        self.file.chmod(0o644)

    @property
    def environment(self) -> dict[str, str]:
        if not faketime():
            return {}
        return {
            "LD_PRELOAD": faketime(),
            "FAKETIME_TIMESTAMP_FILE": str(self.file),
            "FAKETIME_NO_CACHE": "1",
            "FAKETIME_DONT_FAKE_MONOTONIC": "1",
            "DONT_FAKE_MONOTONIC": "1",
        }


class Cluster(Engine):
    """A PostgreSQL of our own, made anew in ``folder``; everything durable, as in production."""

    def __init__(self, folder: Path, clock: Clock | None = None) -> None:
        self.port, programs = free_port(), postgresql_programs()
        folder.mkdir()
        options = {"user": "postgres", "group": "postgres", "extra_groups": []} if is_root() else {}
        if is_root():
            subprocess.run(["chown", "postgres", str(folder)], check=True)
        make = [f"{programs}/initdb", "--pgdata", str(folder), "--auth", "trust", "--username", "postgres"]
        subprocess.run(make, check=True, capture_output=True, cwd="/", **options)
        command = [f"{programs}/postgres", "-D", str(folder), "-p", str(self.port), "-k", str(folder)]
        more = ["-c", "listen_addresses=127.0.0.1", "-c", "max_connections=60", "-c", "shared_buffers=64MB"]
        environment = {"PATH": os.environ["PATH"]} | (clock.environment if clock else {})
        super().__init__([*command, *more], environment, options | {"cwd": "/"})

    @property
    def address(self) -> str:
        return f"postgres://postgres@127.0.0.1:{self.port}/postgres"

    def answers(self) -> bool:
        try:
            with psycopg.connect(self.address, connect_timeout=2) as line:
                return line.execute("SELECT 1").fetchone() == (1,)
        except psycopg.Error:
            return False

    def start(self) -> None:
        super().start()
        wait_for(self.answers, 60)

    def kill(self) -> None:
        """Every process of it at once, as when the machine stops; each of its own has a group of its own."""
        own = self.children() if self.is_up else []
        super().kill()
        for pid in own:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)


class Queue(Engine):
    """A Redis of our own that keeps nothing, as docker-compose.yml starts it."""

    def __init__(self) -> None:
        self.port = free_port()
        command = ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
        super().__init__(command, {"PATH": os.environ["PATH"]}, {"cwd": "/"})

    @property
    def address(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def answers(self) -> bool:
        try:
            with Redis.from_url(self.address, socket_timeout=1) as line:
                return bool(line.ping())
        except RedisError:
            return False

    def start(self) -> None:
        super().start()
        wait_for(self.answers, 30)


class Web(Engine):
    """The web server as ``make serve`` starts it; ``program`` may be one with a planted fault."""

    def __init__(self, environment: dict[str, str], *, workers: int, threads: int, program: str) -> None:
        self.port = free_port()
        serve = ["-m", "granian", "--interface", "wsgi", "--host", "127.0.0.1", "--port", str(self.port)]
        size = ["--workers", str(workers), "--blocking-threads", str(threads), "--backlog", "1024"]
        rest = ["--respawn-failed-workers", "--respawn-interval", "0.2", "--log-level", "critical", program]
        super().__init__([sys.executable, *serve, *size, *rest], environment)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def answers(self) -> bool:
        try:
            with urlopen(f"{self.address}/health/", timeout=5) as answer:
                return answer.status == 200
        except OSError:
            return False

    def start(self) -> None:
        super().start()
        wait_for(self.answers, 60)


class Worker(Engine):
    """The Celery worker of the site."""

    def __init__(self, environment: dict[str, str]) -> None:
        command = [sys.executable, "-m", "celery", "--app", "config", "worker", "--concurrency", "1"]
        super().__init__([*command, "--loglevel", "critical", "--without-gossip", "--without-mingle"], environment)


@contextmanager
def all_stopped(engines: list[Engine]) -> Iterator[None]:
    """Whatever happens in the block, none of the engines lives on."""
    try:
        yield
    finally:
        for engine in reversed(engines):
            engine.signal(signal.SIGCONT)
            engine.kill()
