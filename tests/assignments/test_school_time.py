"""Times on the school's wall, in the two hours a year when that is not plain.

The changes of the clock in London in 2026, forward on 29 March at 01:00 and back on 25 October at 02:00 local time,
are those of the IANA time zone database (Europe/London; last Sunday of March and October at 01:00 UTC).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assignments.school_time import (
    NoSuchTime,
    comes_twice,
    on_the_wall,
    read_wall_clock,
    say_briefly,
    say_duration,
    say_moment,
)

LONDON = ZoneInfo("Europe/London")


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)


@pytest.mark.parametrize(
    ("wall", "moment"),
    [
        (datetime(2026, 3, 29, 0, 59), utc(2026, 3, 29, 0, 59)),
        (datetime(2026, 3, 29, 2, 0), utc(2026, 3, 29, 1, 0)),
        (datetime(2026, 7, 1, 9, 0), utc(2026, 7, 1, 8, 0)),
        (datetime(2026, 10, 25, 0, 59), utc(2026, 10, 24, 23, 59)),
        (datetime(2026, 10, 25, 2, 0), utc(2026, 10, 25, 2, 0)),
        (datetime(2026, 12, 1, 9, 0), utc(2026, 12, 1, 9, 0)),
    ],
)
def test_plain_times_mean_one_moment(wall: datetime, moment: datetime) -> None:
    assert read_wall_clock(wall, LONDON) == read_wall_clock(wall, LONDON, later=True) == moment
    assert not comes_twice(wall, LONDON)


def test_a_time_that_is_skipped_is_refused_and_says_what_there_is() -> None:
    with pytest.raises(NoSuchTime) as refusal:
        read_wall_clock(datetime(2026, 3, 29, 1, 30), LONDON)
    assert str(refusal.value) == (
        "The clocks go forward on 29 March 2026, and 01:30 never comes: choose a time before 01:00, or 02:00 or later."
    )


@pytest.mark.parametrize(("minute", "is_skipped"), [(0, True), (59, True)])
def test_the_skipped_hour_begins_at_one_and_ends_before_two(minute: int, is_skipped: bool) -> None:
    with pytest.raises(NoSuchTime):
        read_wall_clock(datetime(2026, 3, 29, 1, minute), LONDON)


def test_a_time_that_comes_twice_is_the_first_unless_the_later_is_meant() -> None:
    wall = datetime(2026, 10, 25, 1, 30)
    assert comes_twice(wall, LONDON)
    assert read_wall_clock(wall, LONDON) == utc(2026, 10, 25, 0, 30)
    assert read_wall_clock(wall, LONDON, later=True) == utc(2026, 10, 25, 1, 30)


def test_a_jump_of_half_an_hour_is_measured_not_assumed() -> None:
    """Lord Howe Island puts its clock forward by thirty minutes (IANA time zone database)."""
    with pytest.raises(NoSuchTime, match="before 02:00, or 02:30 or later"):
        read_wall_clock(datetime(2026, 10, 4, 2, 10), ZoneInfo("Australia/Lord_Howe"))


def test_a_week_across_the_change_keeps_the_time_on_the_wall() -> None:
    opens = read_wall_clock(datetime(2026, 3, 26, 9, 0), LONDON)
    closes = read_wall_clock(datetime(2026, 4, 2, 9, 0), LONDON)
    assert closes - opens == timedelta(days=7, hours=-1)
    assert on_the_wall(opens, LONDON).time() == on_the_wall(closes, LONDON).time()


@given(st.datetimes(datetime(2000, 1, 1), datetime(2037, 1, 1)), st.sampled_from(["Europe/London", "America/St_Johns"]))
def test_what_is_read_shows_again_on_the_wall(wall: datetime, name: str) -> None:
    wall, zone = wall.replace(microsecond=0), ZoneInfo(name)
    try:
        moment = read_wall_clock(wall, zone)
    except NoSuchTime:
        return
    assert on_the_wall(moment, zone).replace(fold=0) == wall


def test_moments_are_said_by_the_wall_and_with_the_zone_where_they_come_twice() -> None:
    assert say_moment(utc(2026, 5, 14, 14, 30), LONDON) == "Thu 14 May 2026, 15:30"
    assert say_briefly(utc(2026, 5, 14, 23, 30), LONDON) == "15 May, 00:30"
    assert say_moment(utc(2026, 10, 25, 0, 30), LONDON) == "Sun 25 Oct 2026, 01:30 BST"
    assert say_moment(utc(2026, 10, 25, 1, 30), LONDON) == "Sun 25 Oct 2026, 01:30 GMT"


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0, "0 seconds"), (1, "1 second"), (90, "1 minute 30 seconds"), (360, "6 minutes"), (3900, "1 hour 5 minutes")],
)
def test_lengths_of_time_in_words(seconds: int, said: str) -> None:
    assert say_duration(seconds) == said
