"""Which questions of the bank answer a rule, read a few hundred at a time in an order drawn by lot."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from random import Random
from typing import Any

from accounts.models import SchoolClass
from assignments.models import AssignedQuestion, Assignment, QuestionSet
from assignments.picking import Traits, pick
from bank.models import Question, State
from bank.queries import QuestionQuerySet

A_LOOK = 200  # questions whose options are read at once
ENOUGH = 8  # suitable questions looked at for each one wanted; more would not make the pick much better
STRAIGHT, DIAGONAL, OBLIQUE = "straight", "diagonal", "oblique"


@dataclass(frozen=True)
class Rule:
    """What a set is filled with. Values of one filter widen it, filters and tags narrow it; an empty one lets all by.

    ``creases``: the question has one of these, ``straight`` meaning no other. With ``school_class``, nothing is taken
    that the class was set since ``since``.
    """

    count: int
    seed: int
    rising: bool = True
    levels: tuple[int, ...] = ()
    folds: tuple[int, ...] = ()
    tags: tuple[int, ...] = ()
    creases: tuple[str, ...] = ()
    mistakes: tuple[str, ...] = ()
    school_class: SchoolClass | None = None
    since: datetime | None = None


def questions_by_rule(question_set: QuestionSet, bank: QuestionQuerySet, rule: Rule) -> list[Question]:
    """Return the questions picked from ``bank`` for the set, in their order there; those it has are left out."""
    suitable = []
    for traits in _suitable(_narrowed(question_set, bank, rule), rule):
        suitable.append(traits)
        if len(suitable) >= ENOUGH * rule.count:
            break
    picked = [traits.question for traits in pick(suitable, rule.count, rule.seed, rising=rule.rising)]
    found = bank.for_list().in_bulk(picked)
    return [found[pk] for pk in picked]


def _narrowed(question_set: QuestionSet, bank: QuestionQuerySet, rule: Rule) -> QuestionQuerySet:
    ready = bank.filter(state=State.READY, current__isnull=False).tagged(rule.tags)
    if rule.levels:
        ready = ready.filter(level__in=rule.levels)
    if rule.folds:
        ready = ready.filter(folds__in=rule.folds)
    if rule.school_class is not None:
        sent = Assignment.objects.filter(school_class=rule.school_class).opening_between(rule.since, None)
        asked = AssignedQuestion.objects.filter(assignment__in=sent).values("version__question")
        ready = ready.exclude(pk__in=asked)
    return ready.exclude(pk__in=question_set.entries.values("question"))


def _suitable(questions: QuestionQuerySet, rule: Rule) -> Iterator[Traits]:
    pks = sorted(questions.values_list("pk", flat=True))
    Random(rule.seed).shuffle(pks)  # noqa: S311  (a lot, not a secret)
    for start in range(0, len(pks), A_LOOK):
        rows = Question.objects.filter(pk__in=pks[start : start + A_LOOK]).order_by("pk")
        for pk, level, difficulty, options in rows.values_list(
            "pk", "level", "current__difficulty", "current__options__options"
        ):
            kinds = frozenset(mistake["kind"] for option in options for mistake in option["mistakes"])
            if _fits(difficulty, kinds, rule):
                yield Traits(pk, level, difficulty.get("facility", 0.0), kinds)


def _fits(difficulty: Mapping[str, Any], kinds: frozenset[str], rule: Rule) -> bool:
    if rule.mistakes and kinds.isdisjoint(rule.mistakes):
        return False
    return not rule.creases or not _creases(difficulty.get("features", {})).isdisjoint(rule.creases)


def _creases(features: Mapping[str, float]) -> set[str]:
    """Of which kinds a question's creases are; ``STRAIGHT`` where there is no other."""
    slanting, oblique = features.get("slanting", 0), features.get("oblique", 0)
    found = {name for name, there in ((DIAGONAL, slanting > oblique), (OBLIQUE, oblique > 0)) if there}
    return found or {STRAIGHT}
