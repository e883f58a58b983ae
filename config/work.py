"""The work behind the pages: what waits, what failed, and asking for it once more."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import redis
from django.conf import settings
from kombu.exceptions import OperationalError

from accounts.models import School
from assignments.models import PrintOrder
from bank.models import Version
from bank.queries import VersionQuerySet
from bank.tasks import sweep_pictures
from config.celery import app

PATIENCE = timedelta(minutes=2)  # the clock looks for missing pictures each minute


@dataclass(frozen=True)
class Queue:
    """How the queue stands: ``waiting`` is ``None`` while Redis does not answer."""

    is_there: bool
    waiting: int | None
    workers: int


def queue_length() -> int | None:
    """Return how many tasks wait in Redis; ``None`` if it does not answer, or there is none."""
    if not settings.REDIS_URL:
        return None
    try:
        with redis.Redis.from_url(settings.REDIS_URL, socket_timeout=1, socket_connect_timeout=1) as line:
            return int(line.llen(settings.CELERY_TASK_DEFAULT_QUEUE))
    except redis.RedisError:
        return None


def queue() -> Queue:
    """Ask Redis and the workers; a worker has a second to answer."""
    waiting = queue_length()
    workers = len(app.control.ping(timeout=1) or ()) if waiting is not None else 0
    return Queue(bool(settings.REDIS_URL), waiting, workers)


def waiting_pictures() -> VersionQuerySet:
    return Version.objects.lacking_pictures()


def waiting_in(school: School) -> VersionQuerySet:
    """Return the school's versions that lack pictures, the longest waiting first."""
    found = waiting_pictures().filter(question__school=school)
    return found.select_related("question").order_by("created_at", "pk")


def is_overdue(version: Version, at: datetime) -> bool:
    return version.created_at < at - PATIENCE


def failed_prints(school: School) -> list[PrintOrder]:
    """Return what was to be printed at this school and could not be made; it is kept for a day."""
    orders = PrintOrder.objects.filter(question_set__school=school, failed=True)
    return list(orders.select_related("question_set", "asked_by"))


def draw_missing() -> bool:
    """Ask a worker to draw what is missing. Return whether the queue took it."""
    try:
        sweep_pictures.apply_async(retry=False)
    except OperationalError:
        return False
    return True
