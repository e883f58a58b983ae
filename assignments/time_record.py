"""What was done to the time of sittings, in words: for the teacher beside the monitor and with the results."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from django.utils import timezone

from assignments.models import Assignment, Sitting, TimeChange
from assignments.school_time import say_briefly, say_duration
from assignments.timekeeping import Kind


class Said(NamedTuple):
    at: datetime
    says: str
    by: str  # the adult's name; "" for the pupil's own doing
    note: str


def changes_of(assignment: Assignment, sitting: Sitting | None = None) -> list[TimeChange]:
    """Return what was done to the class and to single pupils, the latest first; or what concerns one sitting.

    Of what was done to the class the entries of the class are enough: each sitting has its own beside them.
    """
    found = assignment.time_changes.select_related("sitting__pupil", "by").order_by("-pk")
    if sitting is None:
        return [change for change in found if change.sitting_id is None or not change.for_all]
    stopped_all = [change for change in found if change.sitting_id is None and change.kind in STOPS]
    since_start = [change for change in stopped_all if change.at >= sitting.started_at]
    own = [change for change in found if change.sitting_id == sitting.pk]
    return sorted(own + since_start, key=lambda change: -change.pk)


def said_of(changes: Iterable[TimeChange]) -> list[Said]:
    return [Said(change.at, _says(change), _adult(change), change.note) for change in changes]


STOPS = (Kind.PAUSE, Kind.RESUME)


def _says(change: TimeChange) -> str:
    whom = "everybody" if change.for_all else change.sitting.pupil.name if change.sitting else "everybody"
    match change.kind:
        case Kind.EXTEND:
            return f"{say_duration(change.seconds)} more for {whom}."
        case Kind.PAUSE:
            return f"The clock was stopped for {whom}."
        case Kind.RESUME:
            return f"The clock was started again for {whom}."
        case Kind.END:
            return f"Ended for {whom}."
        case Kind.REOPEN:
            ended = _briefly(change.had_ended_at)
            return f"Reopened for {whom}, {say_duration(change.seconds)}; had ended {ended}."
        case Kind.BREAK:
            return f"{whom} began a rest break."
    return f"{whom} came back from the break."


def _adult(change: TimeChange) -> str:
    return change.by.name if change.by and not change.by.is_pupil else ""


def _briefly(at: datetime | None) -> str:
    return say_briefly(at, timezone.get_current_timezone()) if at else "an unknown time"
