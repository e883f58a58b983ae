"""A whole site to break: web processes, a worker, Redis, a database and the line to the pupils, all our own."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.faults.clerk import Clerk
from tests.faults.engines import Clock, Cluster, Engine, Queue, Web, Worker, all_stopped
from tests.faults.wire import Wire
from tests.sites import environment_of

SOUND = "config.wsgi:application"
FAULTY = "tests.faults.faulty:application"


@dataclass
class Stack:
    kind: str  # "postgresql" or "sqlite"
    environment: dict[str, str]
    clock: Clock
    web: Web
    wire: Wire
    clerk: Clerk
    database: Cluster | None = None
    queue: Queue | None = None
    worker: Worker | None = None

    @property
    def engines(self) -> list[Engine]:
        """In the order in which they must be up."""
        return [one for one in (self.database, self.queue, self.worker, self.web) if one is not None]

    @property
    def address(self) -> str:
        """Where the pupils ask: behind the wire."""
        return f"http://127.0.0.1:{self.wire.port}"

    def practice_class(self, *, pupils: int, questions: int, seconds: int) -> dict:
        size = ["--pupils", str(pupils), "--questions", str(questions), "--seconds", str(seconds)]
        return json.loads(self.clerk.run("practice_class", *size))

    def history(self, assignment: int) -> list[dict]:
        lines = self.clerk.run("history", str(assignment)).splitlines()
        return [json.loads(line) for line in lines]

    def recompute(self, assignment: int) -> None:
        self.clerk.run("recompute", str(assignment), "--check")

    def mend(self) -> None:
        """Start again whatever is down, and let the line hear."""
        self.wire.is_deaf = False
        for engine in self.engines:
            if not engine.is_up:
                engine.start()


@contextmanager
def stack(kind: str, folder: Path, *, program: str = SOUND, with_queue: bool = True, **more: str) -> Iterator[Stack]:
    """A running site in ``folder``; ``program`` is the WSGI application, ``more`` goes into its environment."""
    clock = Clock(folder)
    database = Cluster(folder / "cluster", clock) if kind == "postgresql" else None
    queue = Queue() if with_queue else None
    url = database.address if database else f"sqlite:///{folder / 'site.sqlite3'}"
    redis = queue.address if queue else ""
    environment = environment_of(url, folder, REDIS_URL=redis, STATIC_ROOT=str(folder / "static"), **more)
    # PostgreSQL keeps the time; where the database is a file, the web process does.
    served = environment | ({} if database else clock.environment)
    size = {"workers": 2, "threads": 4} if database else {"workers": 1, "threads": 1}
    web = Web(served, program=program, **size)
    made = Stack(kind, environment, clock, web, Wire(("127.0.0.1", web.port)), Clerk(environment), database, queue)
    made.worker = Worker(environment) if queue else None
    with all_stopped(made.engines):
        try:
            if database:
                database.start()
            made.clerk.run("migrate", "--verbosity", "0")
            made.clerk.run("collectstatic", "--noinput", "--verbosity", "0")
            made.mend()
            yield made
        finally:
            made.wire.close()
            made.clerk.close()
