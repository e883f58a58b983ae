"""Choices of many sittings at once, as arrays: for figures of questions, which need no name, time or order.

What ``marking.mark`` finds for a sitting one by one is found here for thousands in one go; a test holds both alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from django.db.models import F, Q

from assignments.models import AssignedQuestion, Assignment, Event, Sitting
from assignments.papers import LETTERS
from assignments.querysets import SittingQuerySet
from assignments.services.clock import database_now

NONE = -1  # in ``chosen``: not answered


@dataclass(frozen=True)
class Item:
    """A column of a table: a version, and the letters that count as right."""

    version: int
    accepts: str


@dataclass(frozen=True)
class AnswerTable:
    """Sittings of the same questions marked alike, whatever class or day, without questions left out of the marks.

    ``chosen`` is persons x items: the place of the letter chosen in A to E, or ``NONE``.
    """

    items: tuple[Item, ...]
    chosen: np.ndarray
    sittings: tuple[int, ...] = ()  # whose rows these are

    @cached_property
    def right(self) -> np.ndarray:
        """Persons x items, True where right."""
        accepted = np.array([[letter in item.accepts for letter in LETTERS] for item in self.items])
        return (self.chosen >= 0) & accepted[np.arange(len(self.items)), self.chosen]

    def column_of(self, version: int) -> int | None:
        return next((place for place, item in enumerate(self.items) if item.version == version), None)


def tables_of(assignments: Iterable[Assignment], *, only: SittingQuerySet | None = None) -> list[AnswerTable]:
    """Return the answers given in these assignments, or in ``only`` some sittings of them, pooled where the same is
    asked (5 queries). A sitting that still runs is left out: what it has not answered yet is not wrong.
    """
    columns: dict[int, dict[int, Item]] = defaultdict(dict)
    asked = AssignedQuestion.objects.filter(assignment__in=assignments).order_by("position")
    facts = asked.values_list("assignment", "pk", "version", "version__options__key", "ruling__accepts")
    for assignment, question, version, key, ruled in facts:
        accepts = key if ruled is None else ruled
        if accepts:
            columns[assignment][question] = Item(version, accepts)
    sat = Sitting.objects.filter(assignment__in=columns)
    sat = sat if only is None else sat.filter(pk__in=only.values("pk"))
    sat = sat.exclude(pk__in=_running(sat))
    sittings = list(sat.order_by("pk").values_list("pk", "assignment"))
    pools: dict[tuple[Item, ...], list[tuple[int, int]]] = defaultdict(list)
    for sitting, assignment in sittings:
        pools[tuple(columns[assignment].values())].append((sitting, assignment))
    choices = _last_choices(sat)
    return [_table(items, pool, columns, choices) for items, pool in pools.items()]


def _running(sat: SittingQuerySet) -> list[int]:
    """Return which of these still run; of those that nobody ended, the clock has ended most (1 query, and the time)."""
    begun = list(sat.filter(finished_at=None, entered_at=None).select_related("assignment").defer("paper"))
    at = database_now() if begun else None
    return [sitting.pk for sitting in begun if at and sitting.is_running(at)]


def _last_choices(sat: SittingQuerySet) -> np.ndarray:
    """Return the choices that count, as rows of sitting, question and letter: the last by (epoch, seq) (1 query)."""
    typed_last = Q(sitting__entered_at=None) | Q(epoch=F("sitting__epoch"))
    rows = Event.objects.filter(
        typed_last, sitting__in=sat.values("pk"), kind=Event.Kind.CHOOSE, is_late=False
    ).order_by()
    found = rows.values_list("sitting_id", "question_id", "epoch", "seq", "option")
    sitting, question, epoch, seq, letter = map(list, zip(*found, strict=True)) if found else ([], [], [], [], [])
    table = np.array([sitting, question, epoch, seq, [LETTERS.index(one) for one in letter]], dtype=np.int64)
    table = table[:, np.lexsort(table[3::-1])]
    last = np.ones(table.shape[1], dtype=bool)
    last[:-1] = (table[:2, 1:] != table[:2, :-1]).any(axis=0)
    return table[:, last][[0, 1, 4]]


def _table(
    items: tuple[Item, ...],
    pool: list[tuple[int, int]],
    columns: dict[int, dict[int, Item]],
    choices: np.ndarray,
) -> AnswerTable:
    chosen = np.full((len(pool), len(items)), NONE, dtype=np.int8)
    places = {
        question: place
        for assignment in {assignment for _, assignment in pool}
        for place, question in enumerate(columns[assignment])
    }
    rows, found = _positions(np.array([sitting for sitting, _ in pool]), choices[0])
    questions = np.array(sorted(places), dtype=np.int64)
    asked, there = _positions(questions, choices[1])
    used = found & there
    place_of = np.array([places[question] for question in questions.tolist()], dtype=np.int64)
    chosen[rows[used], place_of[asked[used]]] = choices[2][used]
    return AnswerTable(items, chosen, tuple(sitting for sitting, _ in pool))


def _positions(among: np.ndarray, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return where each of ``wanted`` stands in ``among``, which is sorted, and whether it is there at all."""
    places = np.minimum(np.searchsorted(among, wanted), max(len(among) - 1, 0))
    return places, among[places] == wanted
