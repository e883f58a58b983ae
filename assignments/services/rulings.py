"""Marking anew once a question turns out to be faulty, and whether marks are corrected for guessing.

A ruling is appended and never changed; the last one of a question counts, and marks, figures, mistakes and exports
follow from it, since all are worked out when they are asked for.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from accounts.models import User
from accounts.trail import Deed, record
from assignments.errors import RulingError
from assignments.models import AssignedQuestion, Assignment, Ruling
from assignments.papers import LETTERS


@transaction.atomic
def rule_on(*, question: AssignedQuestion, accepts: str, reason: str, by: User, at: datetime) -> Ruling:
    """Decide which letters of the version are right from now on; "" leaves the question out of the marks.

    Raises ``RulingError`` for a decision that is no change, or that leaves the whole set without a question.
    """
    held = AssignedQuestion.objects.select_for_update(of=("self",)).select_related("version", "ruling")
    asked = held.get(pk=question.pk)
    accepts = "".join(letter for letter in LETTERS if letter in accepts)
    if accepts == asked.accepts:
        raise RulingError("This question is marked in just this way already.")
    if not accepts:
        _refuse_the_last(asked)
    ruling = asked.rulings.create(accepts=accepts, reason=reason, by=by, at=at)
    AssignedQuestion.objects.filter(pk=asked.pk).update(ruling=ruling)
    record(Deed.MARKED_ANEW, by=by, about={"assignment": asked.assignment_id})
    return ruling


@transaction.atomic
def correct_for_guessing(*, assignment: Assignment, on: bool, by: User) -> bool:
    """Show marks corrected for guessing, or no longer; return whether this changed anything."""
    changed = Assignment.objects.filter(pk=assignment.pk, corrects_guessing=not on).update(corrects_guessing=on)
    if changed:
        record(Deed.MARKED_ANEW, by=by, about={"assignment": assignment.pk})
    return bool(changed)


def _refuse_the_last(asked: AssignedQuestion) -> None:
    others = AssignedQuestion.objects.filter(assignment=asked.assignment_id).exclude(pk=asked.pk)
    if all(other.accepts == "" for other in others.select_related("version", "ruling")):
        raise RulingError("This is the last question that counts. A set needs at least one.")
