"""Draw the letters of a set's options anew. What was assigned before keeps the letters its class has seen."""

from __future__ import annotations

from random import SystemRandom

from django.db import transaction

from accounts.models import User
from assignments.models import QuestionSet
from bank.services.questions import redraw_letters


@transaction.atomic
def redraw_keys(*, question_set: QuestionSet, by: User) -> int:
    """Give every question of the set its options in an order drawn by lot; return how many letters were drawn for.

    Each gets a new version, so sittings and results, which hold theirs, stay as they are. All or none.
    """
    held = QuestionSet.objects.select_for_update().get(pk=question_set.pk)
    entries = held.entries.select_related("question").order_by("question")  # one order of locks for everybody
    lot = SystemRandom()
    return sum(redraw_letters(question=entry.question, by=by, lot=lot) for entry in entries)
