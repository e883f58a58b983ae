"""Times as a school says them: the clock on its wall, read into moments and back.

Twice a year that clock is changed. In the hour it skips there is no moment to name; in the hour it repeats there
are two, and ``later`` says which is meant. (Rules of the zones: the IANA time zone database, through zoneinfo.)
"""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo

from assignments.timekeeping import UNTIMED


class NoSuchTime(ValueError):
    """The clocks go forward over this time, so it never shows. ``before`` and ``after`` are the nearest that do."""

    def __init__(self, wall: datetime, before: datetime, after: datetime) -> None:
        super().__init__(
            f"The clocks go forward on {wall.day} {wall:%B %Y}, and {wall:%H:%M} never comes: "
            f"choose a time before {before:%H:%M}, or {after:%H:%M} or later."
        )
        self.before, self.after = before, after


def read_wall_clock(wall: datetime, zone: tzinfo, *, later: bool = False) -> datetime:
    """Return the moment at which a clock on the wall in ``zone`` shows ``wall`` (naive).

    Of two such moments take the first, or with ``later`` the second. Raises ``NoSuchTime``.
    """
    first, second = _both(wall, zone)
    if _shown(first, zone) != wall and _shown(second, zone) != wall:
        raise NoSuchTime(wall, *_edges(first, second, zone))
    return second if later else first


def comes_twice(wall: datetime, zone: tzinfo) -> bool:
    """Return whether the clock shows ``wall`` twice, since it is put back over it."""
    first, second = _both(wall, zone)
    return first < second and _shown(first, zone) == wall == _shown(second, zone)


def on_the_wall(moment: datetime, zone: tzinfo) -> datetime:
    """Return what the clock on the wall shows at ``moment``, as a naive time."""
    return moment.astimezone(zone).replace(tzinfo=None)


def say_moment(moment: datetime, zone: tzinfo) -> str:
    """Say a moment as "Thu 14 May 2026, 15:30"; in an hour the clock shows twice, with the zone's letters."""
    local = moment.astimezone(zone)
    said = f"{local:%a} {local.day} {local:%b %Y, %H:%M}"
    return f"{said} {local:%Z}" if comes_twice(local.replace(tzinfo=None, fold=0), zone) else said


def say_briefly(moment: datetime, zone: tzinfo) -> str:
    """Say a moment of this school year as "14 May, 15:30": a set may be open for weeks, over midnight and a weekend."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b, %H:%M}"


def say_duration(seconds: int) -> str:
    """Say a length of time as "6 minutes", "1 minute 30 seconds" or "1 hour 5 minutes"; or that there is none."""
    if seconds >= UNTIMED:
        return "no time limit"
    hours, rest = divmod(seconds, 3600)
    minutes, rest = divmod(rest, 60)
    parts = [(hours, "hour"), (minutes, "minute"), (rest, "second")]
    said = [f"{number} {word}{'s' if number != 1 else ''}" for number, word in parts if number]
    return " ".join(said) or "0 seconds"


def _both(wall: datetime, zone: tzinfo) -> tuple[datetime, datetime]:
    moments = [wall.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)]
    return moments[0], moments[1]


def _shown(moment: datetime, zone: tzinfo) -> datetime:
    return moment.astimezone(zone).replace(tzinfo=None, fold=0)


def _edges(late: datetime, early: datetime, zone: tzinfo) -> tuple[datetime, datetime]:
    """Find the jump between two moments by halving: what the clock would have shown, and shows, at it."""
    low, high = sorted((early, late))
    offset = low.astimezone(zone).utcoffset()
    while (high - low).total_seconds() > 1:
        middle = low + (high - low) / 2
        low, high = (middle, high) if middle.astimezone(zone).utcoffset() == offset else (low, middle)
    jump = high.replace(microsecond=0)
    assert offset is not None, "a zone knows its offset"
    return (jump + offset).replace(tzinfo=None), _shown(jump, zone)


def say_left(seconds: int, is_untimed: bool = False) -> str:
    """Say roughly how much time is left, in the words the page's own clock goes on with."""
    if is_untimed and seconds > 3600:
        return "no time limit"
    if seconds < 60:
        return "less than a minute left"
    minutes = round(seconds / 60)
    return f"about {minutes} minute{'s' if minutes != 1 else ''} left"
