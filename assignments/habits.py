"""Whether a pupil makes one mistake again and again: a posterior over habits, from options offered and chosen.

The model. A pupil has no habit (chance 1/2 beforehand) or the habit of one of the kinds of mistake that were offered
(the rest, evenly). Without a habit the pupil chooses the key 8 times in 10, else any other option evenly. With one,
the pupil follows it with chance s wherever an option stands for it, and else chooses as without; s is not known, and
is averaged over three values. A habit is named once it is 0.8 sure. The figures are choices; ``tests`` plants habits
in simulated pupils and counts how many are found.

Pure: nothing here knows names, times or the database.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from math import exp, log
from typing import NamedTuple

NO_HABIT = 0.5  # chance beforehand
KNOWS = 0.8  # chance of the key without a habit
FOLLOWS = (0.4, 0.6, 0.8)  # how often a habit is followed where it is offered
SURE = 0.8  # a habit this likely is named
FEWEST = 10  # answers; below this a pattern is chance as easily as habit
VERY_SURE = 0.95


class Answer(NamedTuple):
    """One question answered. ``offered`` has, for the letter of each option, the kinds behind it: none for a key."""

    offered: Mapping[str, frozenset[str]]
    chosen: str


@dataclass(frozen=True)
class Belief:
    """How likely each habit is after ``answers`` answers; with ``none`` they sum to 1."""

    answers: int
    none: float
    habits: Mapping[str, float]

    @property
    def is_too_few(self) -> bool:
        return self.answers < FEWEST

    @property
    def named(self) -> str | None:
        """The habit that is sure enough to be named; ``None`` for no pattern, or too few answers to judge."""
        if self.is_too_few or not self.habits:
            return None
        kind = max(self.habits, key=lambda kind: (self.habits[kind], kind))
        return kind if self.habits[kind] >= SURE else None

    @property
    def sureness(self) -> float:
        """The chance that the habit named is there, or 0."""
        return self.habits[self.named] if self.named else 0.0

    @property
    def words(self) -> str:
        """How sure the habit named is, in words."""
        return "very likely" if self.sureness >= VERY_SURE else "likely"


def believe(answers: Iterable[Answer], *, no_habits: Collection[str] = ()) -> Belief:
    """Return how likely each habit is. The order of the answers does not matter.

    ``no_habits`` are kinds that nobody makes a habit of: what was drawn by hand stands for nothing.
    """
    answers = list(answers)
    gains: dict[str, list[float]] = defaultdict(lambda: [0.0] * len(FOLLOWS))
    for answer in answers:
        for kind, tempting in _tempting(answer.offered).items():
            if kind in no_habits:
                continue
            for place, gain in enumerate(_gains(answer, tempting)):
                gains[kind][place] += gain
    return _normalised(len(answers), gains)


def _tempting(offered: Mapping[str, frozenset[str]]) -> dict[str, set[str]]:
    """Return, for each kind, the options that a pupil with this habit and no other fault arrives at.

    Where an option stands for the kind alone, one that stands for something else besides does not tempt.
    """
    alone: dict[str, set[str]] = defaultdict(set)
    shared: dict[str, set[str]] = defaultdict(set)
    for letter, kinds in offered.items():
        for kind in kinds:
            (alone if len(kinds) == 1 else shared)[kind].add(letter)
    return {**shared, **alone}


def _gains(answer: Answer, tempting: set[str]) -> list[float]:
    """Return by how much the answer speaks for a habit against none, as a logarithm, for each of ``FOLLOWS``."""
    chance = _chance(answer)
    followed = 1 / len(tempting) if answer.chosen in tempting else 0.0
    return [log((s * followed + (1 - s) * chance) / chance) for s in FOLLOWS]


def _chance(answer: Answer) -> float:
    """Return the chance of the choice without a habit; two keys, once both are accepted, share that of one."""
    keys = sum(not kinds for kinds in answer.offered.values())
    if not answer.offered[answer.chosen]:
        return KNOWS / keys
    return (1 - KNOWS) / (len(answer.offered) - keys)


def _normalised(answers: int, gains: Mapping[str, list[float]]) -> Belief:
    if not gains:
        return Belief(answers, 1.0, {})
    top = max(0.0, *(max(each) for each in gains.values()))  # so that no number runs over
    none = NO_HABIT * exp(-top)
    each = (1 - NO_HABIT) / len(gains)
    weights = {kind: each * sum(exp(gain - top) for gain in g) / len(FOLLOWS) for kind, g in gains.items()}
    whole = none + sum(weights.values())
    return Belief(answers, none / whole, {kind: weight / whole for kind, weight in sorted(weights.items())})
