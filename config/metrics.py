"""Figures for a Prometheus server, by the client library of that project: what was asked and how long it took, what was
saved, what waits. No figure is about a person; routes stand as patterns, without numbers.

Several processes answer, so each writes its counts to a small file of its own in ``DATA_DIR/metrics``, and whichever is
asked adds them up. Without ``METRICS_TOKEN`` nothing is counted and the address does not exist.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

from django.conf import settings
from django.utils import timezone

if settings.METRICS_TOKEN:  # the library looks for the folder once, when it is first imported
    (settings.DATA_DIR / "metrics").mkdir(parents=True, exist_ok=True)
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(settings.DATA_DIR / "metrics")

from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.multiprocess import MultiProcessCollector

SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10)
REQUESTS = Histogram("creasemark_request_seconds", "Requests by page and status", ["route", "status"], buckets=SECONDS)
DATABASE_LOST = Counter("creasemark_database_lost", "Requests that met a lost connection to the database")


def count_request(route: str, status: int, seconds: float) -> None:
    """Note one request, if anybody wants to know; answers saved are the 200s of their route."""
    if settings.METRICS_TOKEN:
        REQUESTS.labels(route, str(status)).observe(seconds)


def count_lost_database() -> None:
    if settings.METRICS_TOKEN:
        DATABASE_LOST.inc()


class Work:
    """What waits behind the pages, found when it is asked for."""

    def collect(self) -> Iterator[GaugeMetricFamily]:
        from config.work import queue_length, waiting_pictures

        waiting = waiting_pictures()
        oldest = waiting.order_by("created_at").first()
        age = (timezone.now() - oldest.created_at).total_seconds() if oldest else 0.0
        yield GaugeMetricFamily("creasemark_pictures_waiting", "Versions that lack pictures", value=waiting.count())
        yield GaugeMetricFamily("creasemark_pictures_waiting_seconds", "Age of the oldest of them", value=age)
        length = queue_length()
        yield GaugeMetricFamily("creasemark_queue_up", "Whether Redis answers", value=float(length is not None))
        yield GaugeMetricFamily("creasemark_queue_tasks", "Tasks that wait in Redis", value=float(length or 0))


def exposition() -> bytes:
    """All figures in Prometheus' text format."""
    registry = CollectorRegistry()
    MultiProcessCollector(registry)
    registry.register(Work())
    return generate_latest(registry)
