"""A sitting's time as a pure function of what was done to it (R6, R7): worked by hand, and with changes by lot."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random

import pytest

from assignments.timekeeping import LONGEST_BREAK, NO_END, Change, Kind, Reckoned, reckon, with_extra
from tests.assignments.factories import NOON

ALLOWED = 600


def after(seconds: float) -> datetime:
    return NOON + timedelta(seconds=seconds)


def given(*changes: Change, extra: int = 0) -> float:
    """Seconds on top of ten minutes' allowance, with nothing left standing."""
    reckoned = reckon(NOON, ALLOWED, extra, changes)
    assert (reckoned.stopped_at, reckoned.stopped_until) == (None, None)
    return reckoned.given.total_seconds()


def test_without_changes_it_is_the_allowance() -> None:
    assert reckon(NOON, ALLOWED, 0, []) == Reckoned()


def test_time_for_one_is_just_that_and_time_for_all_has_the_extra_on_top() -> None:
    assert given(Change(Kind.EXTEND, after(10), 120), extra=25) == 120
    assert given(Change(Kind.EXTEND, after(10), 120, for_all=True), extra=25) == 150


def test_while_the_clock_stands_no_time_passes() -> None:
    assert given(Change(Kind.PAUSE, after(100)), Change(Kind.RESUME, after(340.5))) == 240.5


def test_a_clock_that_stands_says_since_when_and_until_when() -> None:
    paused = reckon(NOON, ALLOWED, 0, [Change(Kind.PAUSE, after(100))])
    assert paused == Reckoned(timedelta(0), after(100), NO_END)
    resting = reckon(NOON, ALLOWED, 0, [Change(Kind.BREAK, after(100))])
    assert resting == Reckoned(timedelta(0), after(100), after(100) + LONGEST_BREAK)


def test_a_break_nobody_came_back_from_ends_by_itself() -> None:
    late = Change(Kind.BACK, after(100) + 2 * LONGEST_BREAK)
    assert given(Change(Kind.BREAK, after(100)), late) == LONGEST_BREAK.total_seconds()


def test_a_break_and_a_pause_at_once_stop_one_clock_once() -> None:
    pause, back = Change(Kind.PAUSE, after(150)), Change(Kind.BACK, after(200))
    assert given(Change(Kind.BREAK, after(100)), pause, back, Change(Kind.RESUME, after(300))) == 200
    resume = Change(Kind.RESUME, after(170))
    assert given(Change(Kind.BREAK, after(100)), pause, resume, back) == 100


def test_whoever_starts_while_the_clock_stands_for_all_starts_with_it_standing() -> None:
    before = [Change(Kind.PAUSE, after(-60))]
    assert reckon(NOON, ALLOWED, 0, before).stopped_at == NOON
    assert given(*before, Change(Kind.RESUME, after(30))) == 30
    assert given(*before, Change(Kind.RESUME, after(-30))) == 0


def test_the_end_is_then_and_the_reopening_counts_from_itself() -> None:
    assert given(Change(Kind.END, after(200))) == 200 - ALLOWED
    assert given(Change(Kind.END, after(200)), Change(Kind.REOPEN, after(900), 120)) == 900 + 120 - ALLOWED


def test_an_end_never_gives_time() -> None:
    assert given(Change(Kind.END, after(ALLOWED + 50))) == 0


def test_an_end_while_the_clock_stands_is_then() -> None:
    assert given(Change(Kind.PAUSE, after(100)), Change(Kind.END, after(5000))) == 5000 - ALLOWED


def test_when_time_has_run_out_a_pause_gives_none() -> None:
    assert given(Change(Kind.PAUSE, after(ALLOWED + 1)), Change(Kind.RESUME, after(ALLOWED + 60))) == 0


def test_r7_a_clock_set_back_in_a_pause_gives_no_time() -> None:
    assert given(Change(Kind.PAUSE, after(100)), Change(Kind.RESUME, after(100 - 3600))) == 0


@pytest.mark.parametrize("seed", range(20))
def test_changes_by_lot_give_the_time_that_a_clock_ticking_by_the_second_gives(seed: int) -> None:
    """Against a model of another kind: a clock that ticks, second by second, as long as nothing holds it."""
    lot = Random(seed)
    kinds = [Kind.EXTEND, Kind.PAUSE, Kind.RESUME, Kind.BREAK, Kind.BACK]
    changes = [Change(lot.choice(kinds), after(second), 30) for second in sorted(lot.sample(range(1, 900), 12))]
    reckoned = reckon(NOON, ALLOWED, 0, changes)
    stop = timedelta(0)
    if reckoned.stopped_at:
        stop = (NO_END if reckoned.stopped_until == NO_END else reckoned.stopped_until) - reckoned.stopped_at
    due = (NOON + timedelta(seconds=ALLOWED) + reckoned.given + stop - NOON).total_seconds()
    assert min(due, 20_000) == ticked(changes)


def ticked(changes: list[Change], until: int = 20_000) -> int:
    """The second at which a ticking clock runs out; ``until`` if it does not."""
    at = {int((change.at - NOON).total_seconds()): change for change in changes}
    left, paused, rest = ALLOWED, False, 0
    for second in range(until):
        held = paused or second < rest
        change = at.get(second)
        if change:
            is_running = held or left >= 0
            match change.kind:
                case Kind.EXTEND:
                    left += 30
                case Kind.PAUSE if is_running:
                    paused = True
                case Kind.RESUME:
                    paused = False
                case Kind.BREAK if is_running:
                    rest = second + int(LONGEST_BREAK.total_seconds())
                case Kind.BACK:
                    rest = 0
        if not (paused or second < rest):
            left -= 1
        if left < 0 and not any(change.kind == Kind.EXTEND for change in changes if change.at > after(second)):
            return second - (-left - 1)
    return until


@pytest.mark.parametrize(("seconds", "percent", "whole"), [(90, 25, 113), (100, 33, 133), (30, 300, 120)])
def test_extra_time_is_rounded_up(seconds: int, percent: int, whole: int) -> None:
    assert with_extra(seconds, percent) == whole
