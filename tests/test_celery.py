"""Tasks on the real thing: a worker in a process of its own, the real Redis between it and the site."""

from __future__ import annotations

import secrets
import shutil
import sqlite3
import struct
from pathlib import Path

import pytest
from redis import Redis

from tests.sites import database, environment_of, run, wait_for, working

REDIS = "redis://127.0.0.1:6379/9"
pytestmark = pytest.mark.redis
VERSIONS = "SELECT count(*) FROM bank_version"
DRAWN = "SELECT count(*) FROM bank_picture WHERE has_png"
# A version has a stem and an unfolding of one picture more than it has folds, and five options.
WANTED = "SELECT sum(2 * (folds + 1) + 5) FROM bank_version"
WORKERS = "import django; django.setup(); from config.work import queue; print(queue().workers)"
SWEEP = "import django; django.setup(); from bank.tasks import sweep_pictures; sweep_pictures.delay()"


@pytest.fixture
def environment(tmp_path, migrated):
    """A migrated SQLite site whose tasks go to a queue of its own on the real Redis."""
    with database("sqlite", tmp_path) as url:
        queue = f"test-{secrets.token_hex(6)}"
        made = environment_of(url, tmp_path, REDIS_URL=REDIS, TASK_QUEUE=queue)
        shutil.copy(migrated, tmp_path)
        yield made
        with Redis.from_url(REDIS) as redis:
            redis.delete(queue, f"_kombu.binding.{queue}", f"_kombu.binding.{queue}.pidbox")


def count(environment: dict[str, str], sql: str) -> int:
    """Ask the site's SQLite file, past Django."""
    with sqlite3.connect(environment["DATABASE_URL"].removeprefix("sqlite://")) as line:
        return line.execute(sql).fetchone()[0]


def all_drawn(environment: dict[str, str]) -> bool:
    return count(environment, DRAWN) == count(environment, WANTED)


def size_of(png: Path) -> tuple[int, int]:
    """Width and height from the header (PNG specification, 3rd edition, 5.2 and 11.2.1)."""
    data = png.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert data[12:16] == b"IHDR"
    return struct.unpack(">II", data[16:24])


def test_a_worker_draws_the_pictures_of_saved_questions(environment, tmp_path):
    run(environment, "-m", "tests.small_school", "2")
    assert (count(environment, VERSIONS), count(environment, DRAWN)) == (2, 0)
    with working(environment):
        wait_for(lambda: all_drawn(environment), 60)
        assert int(run(environment, "-c", WORKERS)) == 1
        assert int(run(environment | {"TASK_QUEUE": "another"}, "-c", WORKERS)) == 0, "the worker of another site"
    single, double = sorted(tmp_path.rglob("*@1x.png")), sorted(tmp_path.rglob("*@2x.png"))
    assert len(single) == len(double) == count(environment, DRAWN) > 0
    for one, two in zip(single, double, strict=True):
        assert size_of(two) == tuple(2 * side for side in size_of(one))


def test_what_neither_redis_nor_a_worker_carried_through_is_drawn_by_a_later_sweep(environment):
    """Questions are saved while Redis is away; then a worker is killed in the midst of drawing them."""
    away = environment | {"REDIS_URL": "redis://127.0.0.1:1/0"}
    run(away, "-m", "tests.small_school", "4")
    assert (count(environment, VERSIONS), count(environment, DRAWN)) == (4, 0)
    run(environment, "-c", SWEEP)
    with working(environment) as worker:
        wait_for(lambda: count(environment, DRAWN) > 0, 60)
        worker.kill()
    assert not all_drawn(environment), "the worker was killed too late for this test to show anything"
    run(environment, "-c", SWEEP)
    with working(environment):
        wait_for(lambda: all_drawn(environment), 60)
