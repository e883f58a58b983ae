"""Choices of many sittings at once, as arrays: for figures of questions, which need no name, time or order.

What ``marking.mark`` finds for a sitting one by one is found here for thousands in one go; a test holds both alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cached_property

import numpy as np
from django.db.models import Max, Q

from assignments.models import AssignedQuestion, Assignment, Event, Sitting
from assignments.papers import LETTERS
from assignments.queries import IN_TIME, TYPED_LAST
from assignments.querysets import SittingQuerySet
from assignments.services.clock import database_now

NONE = -1  # in ``chosen``: not answered
WHERE = ("assignment", "assignment__second_set", "paper", "position")  # of a question
CHOICE = np.dtype([(name, np.int64) for name in ("sitting", "question", "epoch", "seq")] + [("option", "U1")])
OnePaper = tuple[int, int]  # an assignment, and which of its papers


@dataclass(frozen=True)
class Item:
    """A column of a table: a version, and the letters that count as right."""

    version: int
    accepts: str


@dataclass(frozen=True)
class AnswerTable:
    """Sittings of the same questions marked alike, whatever class or day, without questions left out of the marks.

    ``chosen`` is persons x items: the place of the letter chosen in A to E, or ``NONE``. One of several papers has
    ``positions``: where its items stand, so that it can be laid beside the others.
    """

    items: tuple[Item, ...]
    chosen: np.ndarray
    sittings: tuple[int, ...] = ()  # whose rows these are
    positions: tuple[int, ...] = ()

    @cached_property
    def right(self) -> np.ndarray:
        """Persons x items, True where right."""
        accepted = np.array([[letter in item.accepts for letter in LETTERS] for item in self.items])
        return (self.chosen >= 0) & accepted[np.arange(len(self.items)), self.chosen]

    def only(self, rows: list[int]) -> AnswerTable:
        return replace(self, chosen=self.chosen[rows], sittings=tuple(self.sittings[row] for row in rows))

    def column_of(self, version: int) -> int | None:
        return next((place for place, item in enumerate(self.items) if item.version == version), None)


def tables_of(assignments: Iterable[Assignment], *, only: SittingQuerySet | None = None) -> list[AnswerTable]:
    """Return the answers given in these assignments, or in ``only`` some sittings of them, pooled where the same is
    asked (6 queries, 7 with several papers). A sitting that still runs is left out: what it has not answered yet is
    not wrong.
    """
    columns, positions = _counted_in(assignments)
    sat = Sitting.objects.filter(assignment__in={assignment for assignment, _ in columns})
    sat = sat if only is None else sat.filter(pk__in=only.values("pk"))
    sat = sat.exclude(pk__in=_running(sat))
    in_several = sat.filter(assignment__in={assignment for assignment, _ in positions})
    number_of = dict(in_several.values_list("pk", "paper__0__paper")) if positions else {}
    pools: dict[tuple[tuple[Item, ...], tuple[int, ...]], list[tuple[int, OnePaper]]] = defaultdict(list)
    pool_of: dict[OnePaper, list[tuple[int, OnePaper]]] = {}
    for sitting, assignment in sat.order_by("pk").values_list("pk", "assignment"):
        of = assignment, number_of.get(sitting, 1)
        if of not in pool_of:
            pool_of[of] = pools[tuple(columns[of].values()), positions.get(of, ())]
        pool_of[of].append((sitting, of))
    choices = _last_choices(sat)
    return [_table(items, where, pool, columns, choices) for (items, where), pool in pools.items()]


def _counted_in(
    assignments: Iterable[Assignment],
) -> tuple[dict[OnePaper, dict[int, Item]], dict[OnePaper, tuple[int, ...]]]:
    """Return the items of each paper by their questions, and where they stand if there is more than one paper."""
    columns: dict[OnePaper, dict[int, Item]] = defaultdict(dict)
    positions: dict[OnePaper, tuple[int, ...]] = defaultdict(tuple)
    asked = AssignedQuestion.objects.filter(assignment__in=assignments).order_by("position")
    facts = asked.values_list("pk", "version", "version__options__key", "ruling__accepts", *WHERE)
    for question, version, key, ruled, assignment, second, paper, position in facts:
        accepts = key if ruled is None else ruled
        if accepts:
            columns[assignment, paper][question] = Item(version, accepts)
            if second is not None:
                positions[assignment, paper] += (position,)
    return columns, positions


def marks_side_by_side(papers: Sequence[AnswerTable]) -> np.ndarray:
    """Return persons x places, True where right, of all papers of an assignment: the places that count in each."""
    if len(papers) == 1:
        return papers[0].right
    shared = sorted(set.intersection(*(set(paper.positions) for paper in papers)))
    return np.concatenate([paper.right[:, [paper.positions.index(one) for one in shared]] for paper in papers])


def _running(sat: SittingQuerySet) -> list[int]:
    """Return which of these still run; of those that nobody ended, the clock has ended most (2 queries, and the time).

    One whose clock does not stand has ended if even the longest time given to any has passed since it began.
    """
    begun = sat.filter(finished_at=None, entered_at=None)
    allowance, given = begun.aggregate(allowance=Max("allowance"), given=Max("given")).values()
    if allowance is None:
        return []
    at = database_now()
    late = Q(started_at__gte=at - timedelta(seconds=allowance) - given) | Q(stopped_at__isnull=False)
    perhaps = begun.filter(late).select_related("assignment").defer("paper")
    return [sitting.pk for sitting in perhaps if sitting.is_running(at)]


def _last_choices(sat: SittingQuerySet) -> np.ndarray:
    """Return the choices that count, as rows of sitting, question and letter: the last by (epoch, seq) (1 query)."""
    rows = Event.objects.filter(TYPED_LAST, IN_TIME, sitting__in=sat.values("pk"), kind=Event.Kind.CHOOSE).order_by()
    found = np.fromiter(rows.values_list("sitting_id", "question_id", "epoch", "seq", "option"), dtype=CHOICE)
    found = found[np.lexsort((found["epoch"] << 32 | found["seq"], found["question"], found["sitting"]))]
    where = np.stack([found["sitting"], found["question"]])
    last = np.ones(len(found), dtype=bool)
    last[:-1] = (where[:, 1:] != where[:, :-1]).any(axis=0)
    letters = found["option"].astype("U1").view(np.uint32) - ord(LETTERS[0])
    return np.stack([*where, letters])[:, last]


def _table(
    items: tuple[Item, ...],
    positions: tuple[int, ...],
    pool: list[tuple[int, OnePaper]],
    columns: dict[OnePaper, dict[int, Item]],
    choices: np.ndarray,
) -> AnswerTable:
    chosen = np.full((len(pool), len(items)), NONE, dtype=np.int8)
    places = {question: place for one in {one for _, one in pool} for place, question in enumerate(columns[one])}
    rows, found = _positions(np.array([sitting for sitting, _ in pool]), choices[0])
    questions = np.array(sorted(places), dtype=np.int64)
    asked, there = _positions(questions, choices[1])
    used = found & there
    place_of = np.array([places[question] for question in questions.tolist()], dtype=np.int64)
    chosen[rows[used], place_of[asked[used]]] = choices[2][used]
    return AnswerTable(items, chosen, tuple(sitting for sitting, _ in pool), positions)


def _positions(among: np.ndarray, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return where each of ``wanted`` stands in ``among``, which is sorted, and whether it is there at all."""
    places = np.minimum(np.searchsorted(among, wanted), max(len(among) - 1, 0))
    return places, among[places] == wanted
