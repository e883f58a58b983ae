"""A parallel paper: a set of variants, one of each question of a set, in its order.

It is a set of its own, so that it is printed, marked and assigned as any set, each of its questions has its own figures
and its own mark scheme, and no answer to one paper is ever read as an answer to the other. An assignment may give it to
every other pupil as Paper 2.
"""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic
from typing import NamedTuple

from django.db import transaction
from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from accounts.models import User
from assignments.errors import SetError
from assignments.models import QuestionSet, SetEntry
from assignments.services.sets import put_questions
from bank.models import Question, State
from bank.services.variants import add_variant
from geometry.errors import GeometryError

SECONDS = 6.0  # for making variants in one request; about a third of a second each


class Pair(NamedTuple):
    """A question of the set and the variant that stands for it; ``None`` where the bank has none."""

    question: Question
    variant: Question | None


def pairs_of(question_set: QuestionSet) -> list[Pair]:
    """Return a variant of each question, in the order of the set: ready, as hard, as many folds and punches.

    One that is in no set yet comes first, so that a further paper gets others. With three queries.
    """
    entries = question_set.entries.select_related("question__current", "question__school").order_by("position")
    asked = [entry.question for entry in entries.prefetch_related("question__tags")]
    made = Question.objects.filter(origin__in=asked, state=State.READY, current__isnull=False)
    used = Exists(SetEntry.objects.filter(question=OuterRef("pk")))
    made = made.exclude(pk__in=[question.pk for question in asked]).select_related("current")
    found = list(made.annotate(is_used=used).order_by("is_used", "number"))
    return [Pair(question, next((v for v in found if _is_parallel(v, question)), None)) for question in asked]


def make_missing(*, question_set: QuestionSet, by: User, seconds: float = SECONDS) -> tuple[int, list[str]]:
    """Make variants of the questions that have none, for about so many seconds.

    Return how many were made, and a sentence for each question of which none is found. What the time was too short for
    is made by asking again.
    """
    until = monotonic() + seconds
    made, says = 0, list[str]()
    for question, variant in pairs_of(question_set):
        if variant is None and monotonic() < until:
            try:
                made += add_variant(question=question, by=by, until=until) is not None
            except GeometryError as error:
                says.append(f"Question {question.number}: {error}")
    return made, says


@transaction.atomic
def make_parallel_set(*, pairs: Sequence[Pair], title: str, by: User) -> QuestionSet:
    """Make the set; a question without a variant stands in both.

    Raises ``SetError`` for a question that is not ready, and where not one has a variant.
    """
    if not any(variant for _, variant in pairs):
        raise SetError("Both papers would ask the same questions. Have variants made first.")
    questions = [variant or question for question, variant in pairs]
    return put_questions(question_set=None, title=title, questions=questions, by=by)[0]


def parallel_sets(question_set: QuestionSet) -> list[QuestionSet]:
    """Return the sets that may stand beside this one as Paper 2, the newest first (4 queries, whatever there are).

    Place by place each asks a variant, as hard, of what this one asks there; the same question where it has none.
    """
    entries = question_set.entries.select_related("question__current").order_by("position")
    asked = [entry.question for entry in entries]
    if not asked:
        return []
    at_first = SetEntry.objects.filter(question_set=OuterRef("pk"), question__in=_kin(asked[0]))
    others = QuestionSet.objects.filter(Exists(at_first), school=question_set.school_id, retired_at=None)
    ordered = SetEntry.objects.select_related("question__current").order_by("position")
    found = others.exclude(pk=question_set.pk).prefetch_related(Prefetch("entries", ordered))
    return [other for other in found if _stand_beside(asked, [entry.question for entry in other.entries.all()])]


def _stand_beside(asked: Sequence[Question], others: Sequence[Question]) -> bool:
    if len(asked) != len(others) or list(asked) == list(others):
        return False
    pairs = zip(asked, others, strict=True)
    return all(own == its or (_are_kin(own, its) and _are_as_hard(own, its)) for own, its in pairs)


def _kin(question: Question) -> QuerySet[Question]:
    """The question, what it is a variant of, its variants, and theirs and its fellows'."""
    roots = [question.pk, *([question.origin_id] if question.origin_id else [])]
    return Question.objects.filter(Q(pk__in=roots) | Q(origin__in=roots))


def _are_kin(one: Question, other: Question) -> bool:
    return not {one.pk, one.origin_id}.isdisjoint({other.pk, other.origin_id} - {None})


def _is_parallel(variant: Question, question: Question) -> bool:
    return variant.origin_id == question.pk and _are_as_hard(variant, question)


def _are_as_hard(variant: Question, question: Question) -> bool:
    if variant.current is None or question.current is None:
        return False
    mine, its = (
        (version.level, version.folds, version.punches, version.offered)
        for version in (variant.current, question.current)
    )
    return mine == its
