"""The arithmetic of locks, without a database."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.throttle import PER_ADULT, PER_CLASS, PER_PUPIL, Limit, digest_of

pytestmark = pytest.mark.each_database

NOON = datetime(2026, 5, 14, 12, 0, tzinfo=UTC)
THREE_IN_TEN = Limit(failures=3, window=timedelta(minutes=10))


def minutes_ago(*minutes: float) -> list[datetime]:
    return [NOON - timedelta(minutes=minute) for minute in minutes]


@pytest.mark.parametrize(
    ("failures", "opens_in"),
    [
        ([], None),
        ([1, 2], None),
        ([1, 2, 3], 7),
        ([3, 2, 1], 7),
        ([1, 2, 3, 4], 7),
        ([0, 0, 0], 10),
        ([9.5, 9.6, 9.7], 0.3),
        ([1, 2, 10], None),
        ([1, 2, 11], None),
        ([1, 2, 9.99], 0.01),
    ],
)
def test_lock_lasts_until_the_window_holds_fewer(failures, opens_in):
    until = THREE_IN_TEN.locked_until(minutes_ago(*failures), NOON)
    if opens_in is None:
        assert until is None
    else:
        assert until == pytest.approx(NOON + timedelta(minutes=opens_in), abs=timedelta(milliseconds=1))


@given(st.lists(st.integers(0, 1200), max_size=12))
def test_lock_opens_when_it_says_and_not_before(seconds):
    """Checked by counting: with the lock closed the window is full, at its end it is not."""
    failures = [NOON - timedelta(seconds=second) for second in seconds]
    until = THREE_IN_TEN.locked_until(failures, NOON)

    def in_window(at):
        return sum(at - THREE_IN_TEN.window < failure for failure in failures)

    if until is None:
        assert in_window(NOON) < 3
    else:
        assert in_window(until - timedelta(milliseconds=1)) >= 3
        assert in_window(until) < 3


def test_the_limits_are_those_agreed():
    assert (PER_PUPIL.failures, PER_PUPIL.window) == (5, timedelta(minutes=15))
    assert (PER_CLASS.failures, PER_CLASS.window) == (30, timedelta(hours=1))
    assert (PER_ADULT.failures, PER_ADULT.window) == (10, timedelta(minutes=15))


def test_a_guesser_of_pins_hits_hardly_ever():
    """30 tries an hour for a day at 10**6 PINs, each try against one pupil: 720 / 10**6, below 0.1 %."""
    tries = PER_CLASS.failures * ceil(timedelta(days=1) / PER_CLASS.window)
    assert tries == 720
    assert tries / 10**6 < 0.001


def test_digest_stands_for_the_words_and_does_not_show_them():
    assert digest_of(7, "fenna") == digest_of(7, "fenna")
    assert len({digest_of(7, "fenna"), digest_of(8, "fenna"), digest_of(7, "galen")}) == 3
    assert len(digest_of("fenna")) == 64
    assert "fenna" not in digest_of("fenna")


def test_digest_depends_on_the_secret(settings):
    before = digest_of("fenna")
    settings.SECRET_KEY = "another secret of more than thirty-two characters"
    assert digest_of("fenna") != before
