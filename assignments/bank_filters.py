"""Filters of the bank that only this room can answer: what a class has been asked, and how pupils did.

``AppConfig.ready`` registers them with the bank.
"""

from __future__ import annotations

from collections.abc import Sequence

from accounts.models import SchoolClass, User
from assignments.models import AssignedQuestion
from bank.outside import OutsideFilter
from bank.queries import QuestionQuerySet


def _classes(user: User) -> list[tuple[str, str]]:
    """The classes in view, by their primary keys."""
    rows = SchoolClass.objects.visible_to(user).current().order_by("name").values_list("pk", "name")
    return [(str(pk), name) for pk, name in rows]


def _not_asked(questions: QuestionQuerySet, classes: Sequence[str]) -> QuestionQuerySet:
    """Questions of which no version was ever assigned to any of the classes."""
    asked = AssignedQuestion.objects.filter(assignment__school_class__in=map(int, classes)).values("version__question")
    return questions.exclude(pk__in=asked)


UNUSED = OutsideFilter("unused", "Never used with", _classes, _not_asked)
