"""Marks by what the questions are made of: how many folds, and which kinds of crease. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assignments.marking import Marks, Outcome
from assignments.models import AssignedQuestion
from bank.models import Version
from bank.traits import creases_of
from geometry.creasing import DIAGONAL, OBLIQUE, STRAIGHT

CREASES = {STRAIGHT: "Straight creases", DIAGONAL: "Diagonal creases", OBLIQUE: "Creases at other angles"}


@dataclass(frozen=True)
class Kind:
    """Questions of one kind: their numbers in the set, and how many of the answers to them are right."""

    label: str
    positions: tuple[int, ...]
    right: int
    answers: int  # asked for, given or not

    @property
    def share(self) -> float:
        return self.right / self.answers


def marks_by_kind(questions: Iterable[AssignedQuestion], marks: Iterable[Marks]) -> list[Kind]:
    """Return the kinds that the counted questions are of, folds first; a question may be of several kinds of crease.

    Empty where nobody sat, and where all questions are of the same kinds: then the mark says it already.
    """
    marks = list(marks)
    asked = {one.asked.question for each in marks for one in each.each}  # of two papers, only those that were sat
    questions = [question for question in questions if question.accepts and question.pk in asked]
    labels = {question.pk: list(_labels(question.version)) for question in questions}
    if not marks or len({tuple(found) for found in labels.values()}) < 2:
        return []
    order = sorted({label for found in labels.values() for label in found}, key=_place)
    return [
        _kind(label, [question for question in questions if label in labels[question.pk]], marks) for label in order
    ]


def _kind(label: str, questions: list[AssignedQuestion], marks: list[Marks]) -> Kind:
    wanted = {question.pk for question in questions}
    outcomes = [one.outcome for each in marks for one in each.each if one.asked.question in wanted]
    positions = sorted({question.position for question in questions})
    return Kind(label, tuple(positions), outcomes.count(Outcome.RIGHT), len(outcomes))


def _labels(version: Version) -> Iterator[str]:
    yield f"{version.folds} fold{'s' if version.folds != 1 else ''}"
    yield from (CREASES[crease] for crease in creases_of(version.difficulty.get("features", {})))


def _place(label: str) -> tuple[int, int]:
    """Folds by their number, then creases in their order."""
    creases = list(CREASES.values())
    return (1, creases.index(label)) if label in creases else (0, int(label.split()[0]))
