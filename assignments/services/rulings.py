"""Marking anew once a question turns out to be faulty, whether late choices count, and the correction for guessing.

A ruling is appended and never changed; the last one of a question counts, and marks, figures, mistakes and exports
follow from it, since all are worked out when they are asked for.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from accounts.models import User
from accounts.trail import Deed, record
from assignments.errors import RulingError
from assignments.models import AssignedQuestion, Assignment, Feedback, Ruling
from assignments.papers import LETTERS


@transaction.atomic
def rule_on(*, question: AssignedQuestion, accepts: str, reason: str, by: User, at: datetime) -> Ruling:
    """Decide which letters of the version are right from now on; "" leaves the question out of the marks.

    Where both papers of an assignment ask it, in both. Raises ``RulingError`` for a decision that is no change, or that
    leaves a whole paper without a question.
    """
    held = AssignedQuestion.objects.select_for_update(of=("self",)).select_related("version", "ruling").order_by("pk")
    alike = {one.pk: one for one in held.filter(assignment=question.assignment_id, version=question.version_id)}
    asked = alike[question.pk]
    accepts = "".join(letter for letter in LETTERS if letter in accepts)
    if accepts == asked.accepts:
        raise RulingError("This question is marked in just this way already.")
    if not accepts:
        for one in alike.values():
            _refuse_the_last(one)
    rulings = {pk: one.rulings.create(accepts=accepts, reason=reason, by=by, at=at) for pk, one in alike.items()}
    for pk, ruling in rulings.items():
        AssignedQuestion.objects.filter(pk=pk).update(ruling=ruling)
    record(Deed.MARKED_ANEW, by=by, about={"assignment": asked.assignment_id})
    return rulings[asked.pk]


@transaction.atomic
def correct_for_guessing(*, assignment: Assignment, on: bool, by: User) -> bool:
    """Show marks corrected for guessing, or no longer; return whether this changed anything."""
    changed = Assignment.objects.filter(pk=assignment.pk, corrects_guessing=not on).update(corrects_guessing=on)
    if changed:
        record(Deed.MARKED_ANEW, by=by, about={"assignment": assignment.pk})
    return bool(changed)


@transaction.atomic
def count_late(*, assignment: Assignment, on: bool, by: User) -> bool:
    """Let choices count that came too late, or no longer; return whether this changed anything.

    Raises ``RulingError`` where pupils are told as soon as their own time is up.
    """
    if on and assignment.feedback == Feedback.NOW:
        raise RulingError("Pupils of this set are told answers as soon as their time is up, so nothing late can count.")
    changed = Assignment.objects.filter(pk=assignment.pk, counts_late=not on).update(counts_late=on)
    if changed:
        record(Deed.MARKED_ANEW, by=by, about={"assignment": assignment.pk})
    return bool(changed)


def _refuse_the_last(asked: AssignedQuestion) -> None:
    others = AssignedQuestion.objects.filter(assignment=asked.assignment_id, paper=asked.paper).exclude(pk=asked.pk)
    if all(other.accepts == "" for other in others.select_related("version", "ruling")):
        raise RulingError("This is the last question that counts. A set needs at least one.")
