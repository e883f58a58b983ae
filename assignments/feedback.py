"""When a pupil may be told: never a moment before the last choice that could still gain by it."""

from __future__ import annotations

from datetime import datetime

from assignments.models import GRACE, Assignment, Feedback, Sitting


def is_over(assignment: Assignment, last_deadline: datetime | None, at: datetime) -> bool:
    """Whether nobody can start any more, and time has run out for all who started, extra time included.

    ``last_deadline`` is the latest deadline of the sittings not handed in, or ``None`` if there is none.
    """
    closed = at >= assignment.closes_at
    return closed and (last_deadline is None or at > last_deadline + GRACE)


def is_due(sitting: Sitting, last_deadline: datetime | None, at: datetime, *, is_locked: bool = False) -> bool:
    """Whether the pupil may see how a question is answered; ``is_locked``: its choice can no longer be changed."""
    assignment = sitting.assignment
    if assignment.feedback == Feedback.NOW:
        return is_locked or sitting.is_settled(at)
    if assignment.feedback == Feedback.AFTER_CLOSE:
        return is_over(assignment, last_deadline, at)
    return False
