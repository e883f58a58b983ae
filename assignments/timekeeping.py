"""How long a sitting has, as a pure function of its start, its allowance and what happened to its time.

    deadline = start + allowance x (1 + extra) + time given + time for which the clock stood

What happened is a list of ``Change``, in the order it happened: the teacher gave time, stopped the clock, ended or
reopened the sitting; the pupil took a rest break. No database and no clock here: the same changes give the same time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

NOTHING = timedelta(0)
NO_END = datetime(9999, 1, 1, tzinfo=UTC)  # the deadline of a sitting whose clock stands until somebody starts it
UNTIMED = 366 * 24 * 60 * 60  # seconds: an allowance that means none, since the closing time comes first
LONGEST_BREAK = timedelta(minutes=30)  # then the clock runs on by itself (our choice: no break is forgotten for ever)


class Kind(StrEnum):
    EXTEND = "extend"
    PAUSE = "pause"
    RESUME = "resume"
    END = "end"
    REOPEN = "reopen"
    BREAK = "break"
    BACK = "back"


CLOCK_OF_ALL = (Kind.PAUSE, Kind.RESUME)


class Change(NamedTuple):
    """One entry of the ledger. ``for_all``: of the whole class, so that each pupil's extra time comes on top."""

    kind: str
    at: datetime
    seconds: int = 0
    for_all: bool = False


class Reckoned(NamedTuple):
    """What the changes come to: time on top of the allowance, and since when and until when the clock stands.

    ``stopped_until`` is ``NO_END`` where only a person can start it again.
    """

    given: timedelta = NOTHING
    stopped_at: datetime | None = None
    stopped_until: datetime | None = None


class Stop(NamedTuple):
    """A span for which the clock stood."""

    since: datetime
    until: datetime

    def within(self, since: datetime, until: datetime) -> timedelta:
        """Return how much of it lies between two moments."""
        return max(NOTHING, min(self.until, until) - max(self.since, since))


@dataclass(frozen=True)
class _Time:
    """A sitting's time while the changes are gone through: when it is due, and what holds its clock."""

    due: datetime
    stopped_at: datetime | None = None
    is_paused: bool = False
    break_until: datetime | None = None
    stops: tuple[Stop, ...] = ()

    @property
    def stopped_until(self) -> datetime | None:
        return NO_END if self.is_paused else self.break_until

    def seen_at(self, at: datetime) -> _Time:
        """Let a break that ended by itself before ``at`` be over."""
        if self.break_until is None or at < self.break_until:
            return self
        over = replace(self, break_until=None)
        return over if self.is_paused else over.going(self.break_until)

    def standing(self, at: datetime) -> _Time:
        return replace(self, stopped_at=self.stopped_at or at)

    def going(self, at: datetime) -> _Time:
        """Start the clock, unless something else still holds it; what it stood for is time on top."""
        if self.stopped_at is None or self.is_paused or self.break_until is not None:
            return self
        stops = (*self.stops, Stop(self.stopped_at, at))
        return replace(self, due=self.due + (at - self.stopped_at), stopped_at=None, stops=stops)


def time_up(started_at: datetime, allowance: int, given: timedelta) -> datetime:
    """Return when a sitting whose clock runs is due: ``allowance`` in seconds, extra time included."""
    return started_at + timedelta(seconds=allowance) + given


def reckon(started_at: datetime, allowance: int, extra_percent: int, changes: Iterable[Change]) -> Reckoned:
    """Return what ``changes`` (in the order they happened) make of a sitting's time.

    ``allowance`` is in seconds, extra time included. A clock that was stopped for all before this pupil started stands
    from the start.
    """
    time = _gone_through(started_at, allowance, extra_percent, changes)
    given = time.due - started_at - timedelta(seconds=allowance)
    return Reckoned(given, time.stopped_at, time.stopped_until if time.stopped_at else None)


def stops_in(started_at: datetime, allowance: int, extra_percent: int, changes: Iterable[Change]) -> tuple[Stop, ...]:
    """Return when the clock stood, as far as it runs again (arguments as for ``reckon``)."""
    return _gone_through(started_at, allowance, extra_percent, changes).stops


def _gone_through(started_at: datetime, allowance: int, extra_percent: int, changes: Iterable[Change]) -> _Time:
    time, at = _Time(started_at + timedelta(seconds=allowance)), started_at
    for change in changes:
        at = max(at, change.at)  # a clock set back between two changes gives no time
        time = _take(time.seen_at(at), change, at, extra_percent)
    return time


def _take(time: _Time, change: Change, at: datetime, extra_percent: int) -> _Time:
    match change.kind:
        case Kind.PAUSE if at <= time.due or time.stopped_at:
            return replace(time.standing(at), is_paused=True)
        case Kind.RESUME:
            return replace(time, is_paused=False).going(at)
        case Kind.BREAK if at <= time.due or time.stopped_at:
            return replace(time.standing(at), break_until=at + LONGEST_BREAK)
        case Kind.BACK:
            return replace(time, break_until=None).going(at)
        case Kind.EXTEND:
            seconds = with_extra(change.seconds, extra_percent) if change.for_all else change.seconds
            return replace(time, due=time.due + timedelta(seconds=seconds))
        case Kind.END:
            return _Time(due=at if time.stopped_at else min(time.due, at), stops=_ended(time, at))
        case Kind.REOPEN:
            return _Time(due=at + timedelta(seconds=change.seconds), stops=_ended(time, at))
    return time


def _ended(time: _Time, at: datetime) -> tuple[Stop, ...]:
    """The stops with the one that the end cuts off, or with the time between an end and the reopening."""
    since = time.stopped_at or min(time.due, at)
    return (*time.stops, Stop(since, at)) if since < at else time.stops


def with_extra(seconds: int, percent: int) -> int:
    """Return ``seconds`` and the extra time on them, rounded up to a whole second."""
    return -(-seconds * (100 + percent) // 100)
