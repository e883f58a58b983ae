"""Files to print made by a real worker, with the real Redis between it and the site."""

from __future__ import annotations

import json
import secrets
import shutil
import sqlite3
import time

import pytest
from redis import Redis

from tests.sites import database, environment_of, run, working

REDIS = "redis://127.0.0.1:6379/9"
pytestmark = pytest.mark.redis
ORDER = """
import django; django.setup()
from django.utils import timezone
from accounts.models import User
from assignments.models import Assignment
from assignments.paper.orders import Choices
from assignments.services.printing import order_print
assignment = Assignment.objects.order_by("pk").first()
choices = Choices(kinds=("booklet", "sheets", "scheme"), papers=2, named=True)
order_print(question_set=assignment.question_set, assignment=assignment, choices=choices,
            by=User.objects.get(email="tilda@fernhollow.example"), at=timezone.now())
"""


@pytest.fixture
def environment(tmp_path, migrated):
    """A migrated SQLite site with the small school, whose tasks go to a queue of its own."""
    with database("sqlite", tmp_path) as url:
        queue = f"test-{secrets.token_hex(6)}"
        made = environment_of(url, tmp_path, REDIS_URL=REDIS, TASK_QUEUE=queue)
        shutil.copy(migrated, tmp_path)
        json.loads(run(made, "-m", "tests.small_school", "2"))
        with Redis.from_url(REDIS) as redis:
            redis.delete(queue)  # pictures are not what is looked at here
        yield made
        with Redis.from_url(REDIS) as redis:
            redis.delete(queue, f"_kombu.binding.{queue}")


def state(environment: dict[str, str]) -> tuple[int, int, bool]:
    """How many files are wanted and made, and whether the order has ended, past Django."""
    with sqlite3.connect(environment["DATABASE_URL"].removeprefix("sqlite://")) as line:
        wanted, ended = line.execute("SELECT wanted, ended_at IS NOT NULL FROM assignments_printorder").fetchone()
        (made,) = line.execute("SELECT count(*) FROM assignments_printedfile").fetchone()
    return wanted, made, bool(ended)


def test_a_worker_makes_the_files_of_an_order(environment):
    run(environment, "-c", ORDER)
    assert state(environment) == (5, 0, False), "nothing is made before a worker takes it up"
    with working(environment):
        end = time.monotonic() + 60
        while not state(environment)[2]:
            assert time.monotonic() < end, "the order did not end within a minute"
            time.sleep(0.05)
    assert state(environment) == (5, 5, True)
