"""Filters of the bank that only this room can answer: what a class has been asked, and how pupils did.

``AppConfig.ready`` registers them with the bank.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from accounts.models import SchoolClass, User
from assignments.models import AssignedQuestion, Facility
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

FEWEST = 10  # sittings; of fewer a share says little (our choice)
BANDS = {  # of the share that answered rightly: least, and less than
    "hardest": (0.0, 0.2, "below .20"),
    "hard": (0.2, 0.4, ".20 to .39"),
    "middling": (0.4, 0.6, ".40 to .59"),
    "easy": (0.6, 0.8, ".60 to .79"),
    "easiest": (0.8, 1.1, ".80 and over"),
}


def _bands(user: User) -> list[tuple[str, str]]:
    return [*((band, label) for band, (_, _, label) in BANDS.items()), ("unsat", f"not sat by {FEWEST} yet")]


def _within(questions: QuestionQuerySet, bands: Sequence[str]) -> QuestionQuerySet:
    """Questions whose version in the bank was answered rightly by such a share of those who sat it."""
    sat = Facility.objects.filter(sittings__gte=FEWEST)
    shares = Q(pk__in=[])
    for band in bands:
        if band in BANDS:
            least, below, _ = BANDS[band]
            shares |= Q(share__gte=least, share__lt=below)
    found = Q(current__in=sat.filter(shares).values("version"))
    if "unsat" in bands:
        found |= ~Q(current__in=sat.values("version"))
    return questions.filter(found)


FACILITY = OutsideFilter(
    "facility",
    "Facility once sat",
    _bands,
    _within,
    f"The share of sittings that were right, from {FEWEST} sittings on. The newest may not be counted yet.",
)
