"""The results of one assignment: every sitting marked, and what the class did with each question.

Read in a fixed number of queries, whatever the size of the class.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from statistics import median

from accounts.models import User
from accounts.names import in_register_order, register_key
from assignments.marking import Asked, Mark, Marks, Outcome, mark
from assignments.models import AssignedQuestion, Assignment, Sitting
from assignments.papers import Paper, number_of
from assignments.queries import acts_of, as_asked, pupils_of, questions_of, stops_of


@dataclass(frozen=True)
class Row:
    """One pupil's sitting and its marks."""

    pupil: User
    sitting: Sitting
    marks: Marks

    @property
    def paper(self) -> int:
        """Which of several papers it is; 0 where there is only one."""
        return number_of(self.sitting.paper)


@dataclass(frozen=True)
class Column:
    """What the class did at one place of the set: so many sat it, so many of those for whom it counts were right.

    Each pupil is judged by the question of their own paper; ``questions`` has one of each paper.
    """

    questions: tuple[AssignedQuestion, ...]
    sat: int
    counted: int
    right: int
    chosen: Counter[str]  # by the version's letter, "" for unanswered; of one paper alone it tells something

    @property
    def question(self) -> AssignedQuestion:
        """That of Paper 1, or of the only paper."""
        return self.questions[0]

    @property
    def facility(self) -> float | None:
        """The share of pupils who were right; ``None`` before anybody sat, and for a question that does not count."""
        return self.right / self.counted if self.counted else None


@dataclass(frozen=True)
class Results:
    """``sat`` are the sittings by the pupil's name; ``absent`` the pupils of the class who have none.

    Of an assignment with several papers ``questions`` are those of all, paper by paper.
    """

    assignment: Assignment
    questions: list[AssignedQuestion]
    sat: list[Row]
    absent: list[User]

    @cached_property
    def papers(self) -> list[Results]:
        """The results of each paper by itself; of the only one, these."""
        numbers = sorted({question.paper for question in self.questions})
        if len(numbers) == 1:
            return [self]
        return [
            replace(
                self,
                questions=[question for question in self.questions if question.paper == number],
                sat=[row for row in self.sat if row.paper == number],
            )
            for number in numbers
        ]

    @cached_property
    def columns(self) -> list[Column]:
        return [self._column(place, questions) for place, questions in enumerate(self._by_place)]

    @cached_property
    def counted(self) -> list[int]:
        """The places, from 0, of the questions that count, in every paper."""
        return [place for place, each in enumerate(self._by_place) if all(question.accepts for question in each)]

    @cached_property
    def most(self) -> int:
        """How many questions count; of papers that are not alike in this, the most."""
        return max(sum(bool(question.accepts) for question in part.questions) for part in self.papers)

    @cached_property
    def _by_place(self) -> list[tuple[AssignedQuestion, ...]]:
        found: dict[int, list[AssignedQuestion]] = defaultdict(list)
        for question in self.questions:
            found[question.position].append(question)
        return [tuple(found[position]) for position in sorted(found)]

    @cached_property
    def median_mark(self) -> float | None:
        return median(self.mark_of(row) for row in self.sat) if self.sat else None

    def mark_of(self, row: Row) -> float:
        """The row's mark: what is right, corrected for guessing where the assignment says so."""
        return row.marks.corrected if self.assignment.corrects_guessing else row.marks.right

    @cached_property
    def mean_facility(self) -> float | None:
        facilities = [column.facility for column in self.columns if column.facility is not None]
        return sum(facilities) / len(facilities) if facilities else None

    def ended(self, at: datetime) -> Results:
        """The same of the sittings that have ended at ``at``: what a running one has not answered yet is not wrong."""
        return replace(self, sat=[row for row in self.sat if not row.sitting.is_running(at)])

    def row_of(self, pupil_id: int) -> Row | None:
        return next((row for row in self.sat if row.pupil.pk == pupil_id), None)

    def _column(self, place: int, questions: tuple[AssignedQuestion, ...]) -> Column:
        marks: list[Mark] = [row.marks.each[place] for row in self.sat]
        outcomes = Counter(one.outcome for one in marks)
        counted = len(marks) - outcomes[Outcome.DROPPED]
        return Column(questions, len(marks), counted, outcomes[Outcome.RIGHT], Counter(one.choice for one in marks))


def results_of(assignment: Assignment) -> Results:
    """Return the results of the whole class (4 queries)."""
    sittings = list(assignment.sittings.select_related("pupil"))
    began = {sitting.pupil_id for sitting in sittings}
    absent = [pupil for pupil in pupils_of(assignment) if pupil.pk not in began]
    questions = questions_of(assignment)
    sat = list(mark_sittings(sittings, map(as_asked, questions)))
    return Results(assignment, questions, sat, in_register_order(absent))


def mark_sittings(sittings: Iterable[Sitting], questions: Iterable[Asked]) -> Iterator[Row]:
    """Yield the sittings marked, by the pupil's name (1 query). Each sitting's pupil is to be loaded."""
    by_name = sorted(sittings, key=lambda sitting: (*register_key(sitting.pupil.name), sitting.pupil_id))
    return _marked(by_name, {asked.question: asked for asked in questions})


def mark_everywhere(sittings: Iterable[Sitting]) -> list[Row]:
    """Return sittings of several assignments marked, in the order given (3 queries). Pupils are to be loaded."""
    sittings = list(sittings)
    found = AssignedQuestion.objects.filter(assignment__in={sitting.assignment_id for sitting in sittings})
    return list(_marked(sittings, {one.pk: as_asked(one) for one in found.select_related("version", "ruling")}))


def asked_on(paper: Paper, asked: Mapping[int, Asked]) -> list[Asked]:
    """Return the questions of a pupil's paper, from all by their ids."""
    return [asked[entry["question"]] for entry in paper]


def _marked(sittings: list[Sitting], asked: Mapping[int, Asked]) -> Iterator[Row]:
    acts, stops = acts_of(sittings), stops_of(sittings)
    for one in sittings:
        of_own = asked_on(one.paper, asked)
        yield Row(one.pupil, one, mark(acts.pop(one.pk, []), of_own, one.started_at, stops.get(one.pk, ())))
