"""How marks go over a term, with the difficulty of each set taken into account. Pure.

A step is one set: the share right beside the share that the questions' levels predict. The difference is what to look
at, since a harder set brings lower marks for the same skill.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import floor, sqrt
from statistics import mean

import numpy as np

from assignments.answer_tables import AnswerTable
from assignments.models import Assignment
from assignments.rasch import ability

SURE = 2  # standard errors: a change that is smaller may well be chance


@dataclass(frozen=True)
class Score:
    """One sitting: the share right of so many questions, and the share predicted, over all and of each question."""

    right: float
    predicted: float
    questions: int
    facilities: tuple[float, ...] = ()

    @property
    def percent(self) -> int:
        """The share right in whole per cent, for a page."""
        return floor(100 * self.right + 0.5)

    @cached_property
    def standing(self) -> tuple[float, float]:
        """Where the pupil stands on one scale for all sets, with the standard error: a Rasch estimate in logits.

        The difficulties are those predicted, so that 0 is just as predicted whatever the set, and +1 turns even odds
        of a right answer into 73 in 100.
        """
        share = np.clip(np.array(self.facilities), 0.01, 0.99)
        return ability(self.right * self.questions, np.log((1 - share) / share))


@dataclass(frozen=True)
class Step:
    """One set: the mean of its ``scores``, and the standard error of that mean as a share."""

    assignment: Assignment
    scores: tuple[Score, ...]

    @property
    def right(self) -> float:
        return mean(score.right for score in self.scores)

    @property
    def predicted(self) -> float:
        return mean(score.predicted for score in self.scores)

    @property
    def difference(self) -> float:
        """The share right beyond the one predicted; negative below it."""
        return self.right - self.predicted

    @property
    def error(self) -> float:
        """Of one sitting the binomial error of its questions, of several the error of their mean."""
        if len(self.scores) == 1:
            share = (self.right * self.scores[0].questions + 1) / (self.scores[0].questions + 2)  # never 0 or 1
            return sqrt(share * (1 - share) / self.scores[0].questions)
        spread = sum((score.right - self.right) ** 2 for score in self.scores) / (len(self.scores) - 1)
        return sqrt(spread / len(self.scores))

    @property
    def standing(self) -> dict[str, float]:
        """Where the pupil of a single sitting stands on the scale of all sets, and the standard error, for a page."""
        value, error = self.scores[0].standing
        return {"value": value, "error": error}

    @property
    def percents(self) -> dict[str, int]:
        """The figures in whole per cent, for a page: the difference is that of the two beside it, as it is read."""
        right, predicted, error = (floor(100 * share + 0.5) for share in (self.right, self.predicted, self.error))
        return {"right": right, "predicted": predicted, "difference": right - predicted, "error": error}


def scores_by_sitting(tables: Iterable[AnswerTable], predicted: Mapping[int, float]) -> dict[int, Score]:
    """Return the score of every sitting in the tables; ``predicted`` is a facility by a version's primary key."""
    out: dict[int, Score] = {}
    for table in tables:
        facilities = tuple(predicted.get(item.version, 0.5) for item in table.items)
        shares = table.right.mean(axis=1).tolist()
        for sitting, share in zip(table.sittings, shares, strict=True):
            out[sitting] = Score(share, mean(facilities), len(facilities), facilities)
    return out


def said_of(steps: Sequence[Step]) -> str:
    """Sum up in a sentence or two what a chart of the steps shows."""
    if not steps:
        return "No set has been sat yet."
    average = round(mean(step.percents["difference"] for step in steps))
    where = "just where" if average == 0 else f"{abs(average)} point{'' if abs(average) == 1 else 's'} "
    if average:
        where += "above what" if average > 0 else "below what"
    sets = "In one set" if len(steps) == 1 else f"Over {len(steps)} sets"
    said = f"{sets} the marks were {'on average ' if len(steps) > 1 else ''}{where} the difficulty predicts."
    return said if len(steps) == 1 else f"{said} {_change(steps[0], steps[-1])}"


def _change(first: Step, last: Step) -> str:
    change = last.difference - first.difference
    points = abs(last.percents["difference"] - first.percents["difference"])
    if not points or abs(change) <= SURE * sqrt(first.error**2 + last.error**2):
        return "From the first set to the last there is no change that could not be chance."
    word = "risen" if change > 0 else "fallen"
    return (
        f"From the first set to the last they have {word} by {points} point{'' if points == 1 else 's'}, difficulty "
        "considered."
    )
