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
        """Persons x questions that count, 1 where right; an answer left out counts 0."""
        places = self.results.counted
        each = [[row.marks.each[place].outcome is Outcome.RIGHT for place in places] for row in self.results.sat]
        return np.array(each, dtype=int).reshape(len(self.results.sat), len(places))

    @property
    def are_few(self) -> bool:
        """True when so few sat the set that another class might well give other figures."""
        return len(self.results.sat) < FEW

    @cached_property
    def whole(self) -> SetStatistics | None:
        """Those of the whole set; ``None`` before anybody sat it, and where no question counts."""
        return set_statistics(self.marks) if self.marks.size else None

    @cached_property
    def items(self) -> dict[int, ItemStatistics]:
        """The figures of each question that counts, by its place, counted from 0."""
        return dict(zip(self.results.counted, item_statistics(self.marks), strict=False))

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
        question = self.results.questions[place]
        return distractor_efficiency(self.options(place), question.accepts or question.version.key)

    def seconds(self, place: int) -> float | None:
        """The median time spent on a question, over those who spent any."""
        spent = [s for row in self.results.sat if (s := row.marks.each[place].standing.seconds)]
        return median(spent) if spent else None

    def rasch(self, place: int) -> tuple[float, float] | None:
        """A question's Rasch difficulty and its standard error in logits, where there is one."""
        if self.difficulties is None or place not in self.results.counted:
            return None
        column = self.results.counted.index(place)
        difficulty, error = self.difficulties.difficulty[column], self.difficulties.error[column]
        return None if np.isnan(difficulty) else (float(difficulty), float(error))
