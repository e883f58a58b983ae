"""The statistics of one assignment's results: what the whole set, each question and each option did."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from statistics import median

import numpy as np

from assignments import rasch
from assignments.item_statistics import (
    FEW,
    ItemStatistics,
    OptionStatistics,
    SetStatistics,
    distractor_efficiency,
    item_statistics,
    option_statistics,
    set_statistics,
)
from assignments.marking import Outcome
from assignments.results import Results


@dataclass(frozen=True)
class Figures:
    """Figures of results that somebody has sat. Each is worked out when it is asked for."""

    results: Results

    @cached_property
    def marks(self) -> np.ndarray:
        """Persons x questions, 1 where right; a question left out counts 0."""
        each = [[mark.outcome is Outcome.RIGHT for mark in row.marks.each] for row in self.results.sat]
        return np.array(each, dtype=int).reshape(len(self.results.sat), len(self.results.questions))

    @property
    def are_few(self) -> bool:
        """True when so few sat the set that another class might well give other figures."""
        return len(self.results.sat) < FEW

    @cached_property
    def whole(self) -> SetStatistics:
        return set_statistics(self.marks)

    @cached_property
    def items(self) -> list[ItemStatistics]:
        return item_statistics(self.marks)

    @cached_property
    def difficulties(self) -> rasch.Difficulties | None:
        """Rasch difficulties, once enough have sat the set for them to mean something."""
        if len(self.results.sat) < rasch.LEAST_SITTINGS:
            return None
        try:
            return rasch.difficulties(self.marks)
        except ValueError:  # too few questions told the pupils apart
            return None

    def options(self, place: int) -> list[OptionStatistics]:
        """The figures of the options of the question at a place, counted from 0."""
        chosen = [row.marks.each[place].choice for row in self.results.sat]
        return option_statistics(chosen, self.marks.sum(axis=1))

    def efficiency(self, place: int) -> float:
        """The share of wrong options that at least 5 % chose."""
        return distractor_efficiency(self.options(place), self.results.questions[place].version.key)

    def seconds(self, place: int) -> float | None:
        """The median time spent on a question, over those who spent any."""
        spent = [s for row in self.results.sat if (s := row.marks.each[place].standing.seconds)]
        return median(spent) if spent else None

    def rasch(self, place: int) -> tuple[float, float] | None:
        """A question's Rasch difficulty and its standard error in logits, where there is one."""
        if self.difficulties is None or np.isnan(self.difficulties.difficulty[place]):
            return None
        return float(self.difficulties.difficulty[place]), float(self.difficulties.error[place])
