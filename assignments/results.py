"""The results of one assignment: every sitting marked, and what the class did with each question.

Read in a fixed number of queries, whatever the size of the class.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from statistics import median

from accounts.models import User
from assignments.marking import Asked, Mark, Marks, Outcome, mark
from assignments.models import AssignedQuestion, Assignment, Sitting
from assignments.queries import acts_of, as_asked, pupils_of, questions_of, stops_of


@dataclass(frozen=True)
class Row:
    """One pupil's sitting and its marks."""

    pupil: User
    sitting: Sitting
    marks: Marks


@dataclass(frozen=True)
class Column:
    """What the class did with one question: of ``sat`` pupils so many were right; and how often each was chosen.

    A question left out of the marks has no facility.
    """

    question: AssignedQuestion
    sat: int
    right: int
    chosen: Counter[str]  # by the version's letter, "" for unanswered

    @property
    def facility(self) -> float | None:
        """The share of pupils who were right; ``None`` before anybody sat, and for a question that does not count."""
        return self.right / self.sat if self.sat and self.question.accepts else None


@dataclass(frozen=True)
class Results:
    """``sat`` are the sittings by the pupil's name; ``absent`` the pupils of the class who have none."""

    assignment: Assignment
    questions: list[AssignedQuestion]
    sat: list[Row]
    absent: list[User]

    @cached_property
    def columns(self) -> list[Column]:
        return [self._column(place, question) for place, question in enumerate(self.questions)]

    @cached_property
    def counted(self) -> list[int]:
        """The places, from 0, of the questions that count."""
        return [place for place, question in enumerate(self.questions) if question.accepts]

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

    def row_of(self, pupil_id: int) -> Row | None:
        return next((row for row in self.sat if row.pupil.pk == pupil_id), None)

    def _column(self, place: int, question: AssignedQuestion) -> Column:
        marks: list[Mark] = [row.marks.each[place] for row in self.sat]
        right = sum(one.outcome is Outcome.RIGHT for one in marks)
        return Column(question, len(marks), right, Counter(one.choice for one in marks))


def results_of(assignment: Assignment, *, for_marks: bool = False) -> Results:
    """Return the results of the whole class (4 queries); ``for_marks``: as ``questions_of`` has it."""
    sittings = list(assignment.sittings.select_related("pupil"))
    began = {sitting.pupil_id for sitting in sittings}
    absent = [pupil for pupil in pupils_of(assignment) if pupil.pk not in began]
    questions = questions_of(assignment, for_marks=for_marks)
    return Results(assignment, questions, mark_sittings(sittings, questions), _by_name(absent))


def mark_sittings(sittings: Iterable[Sitting], questions: list[AssignedQuestion]) -> list[Row]:
    """Return the sittings marked, by the pupil's name (1 query). Each sitting's pupil is to be loaded."""
    sittings = list(sittings)
    acts, stops = acts_of(sittings), stops_of(sittings)
    asked = [as_asked(question) for question in questions]
    rows = [
        Row(sitting.pupil, sitting, mark(acts[sitting.pk], asked, sitting.started_at, stops.get(sitting.pk, ())))
        for sitting in sittings
    ]
    return sorted(rows, key=lambda row: _name_key(row.pupil))


def mark_everywhere(sittings: Iterable[Sitting]) -> list[Row]:
    """Return sittings of several assignments marked, in the order given (3 queries). Pupils are to be loaded."""
    sittings = list(sittings)
    acts, stops = acts_of(sittings), stops_of(sittings)
    asked: dict[int, list[Asked]] = defaultdict(list)
    found = AssignedQuestion.objects.filter(assignment__in={sitting.assignment_id for sitting in sittings})
    for question in found.select_related("version", "ruling").order_by("position"):
        asked[question.assignment_id].append(as_asked(question))
    return [
        Row(one.pupil, one, mark(acts[one.pk], asked[one.assignment_id], one.started_at, stops.get(one.pk, ())))
        for one in sittings
    ]


def _by_name(pupils: Iterable[User]) -> list[User]:
    return sorted(pupils, key=_name_key)


def _name_key(pupil: User) -> tuple[str, int]:
    return pupil.name.casefold(), pupil.pk
