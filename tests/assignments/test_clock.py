"""One clock for all: the database's (R7)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction

from assignments.services.clock import database_now

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


def test_it_tells_the_time_in_utc() -> None:
    now = database_now()
    assert now.utcoffset() == timedelta(0)
    assert abs(now - datetime.now(UTC)) < timedelta(seconds=5)


def test_it_goes_on_inside_a_transaction() -> None:
    """PostgreSQL's now() stands still in a transaction; a clock that does would give all who wait one time."""
    with transaction.atomic():
        first = database_now()
        while database_now() == first:
            pass
        assert database_now() > first


def test_it_asks_the_database_once(django_assert_num_queries) -> None:
    with django_assert_num_queries(1):
        database_now()
