"""How long a single question is open, where the set gives each a limit: from when the pupil first came to it.

The page sends word when the pupil comes to a question (``Event.Kind.OPEN``), and the server's time of that word counts.
Where none came before the first choice, the question counts as open since the act before: holding word back gains
nothing. Pure: acts and stops in, moments out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from assignments.marking import Act
from assignments.models import Sitting
from assignments.timekeeping import Stop, with_extra


def opened_at(acts: Iterable[Act], question: int, started_at: datetime) -> datetime | None:
    """Return when the question's time began; ``None`` if the pupil has not been there."""
    acts = sorted(acts, key=lambda act: (act.received_at, act.epoch, act.seq))
    opened = [act.received_at for act in acts if act.question == question and act.kind == "open"]
    if opened:
        return opened[0]
    first = next((place for place, act in enumerate(acts) if act.question == question), None)
    if first is None:
        return None
    return acts[first - 1].received_at if first else started_at


def question_deadline(
    sitting: Sitting, acts: Iterable[Act], question: int, stops: Sequence[Stop], at: datetime
) -> datetime | None:
    """Return when the question is shut, as seen at ``at``; ``None`` without a limit, or before the pupil was there."""
    limit = sitting.assignment.question_seconds
    opened = opened_at(acts, question, sitting.started_at) if limit else None
    if limit is None or opened is None:
        return None
    due = opened + timedelta(seconds=with_extra(limit, sitting.extra_percent))
    for stop in stops_until(sitting, stops, at):
        if stop.since <= due:
            due += stop.within(opened, stop.until)
    return due


def stops_until(sitting: Sitting, stops: Sequence[Stop], at: datetime) -> Sequence[Stop]:
    """Return the stops with the one that lasts at ``at``."""
    if sitting.stopped_at is None or sitting.stopped_until is None:
        return stops
    return (*stops, Stop(sitting.stopped_at, max(sitting.stopped_at, min(at, sitting.stopped_until))))
