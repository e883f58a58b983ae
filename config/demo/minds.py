"""How the demonstration's pupils answer: by ability, and some by a habit that leads to one kind of mistake.

Nothing here comes from children: the shape of the model (a logistic chance of the key, a habit followed seven
times in ten) is a choice, so that results and mistakes have something plausible to show.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from math import exp
from random import Random

from bank.models import Version

FOLLOWED = 0.7  # how often a pupil with a habit gives way to it where it is offered
GUESSED = 0.2  # the chance of the key for who knows nothing
HABITUAL = 0.3  # how many pupils have a habit


@dataclass(frozen=True)
class Mind:
    """``ability`` on the scale of levels 1 to 5, ``habit`` a kind of mistake, ``pace`` seconds a question."""

    ability: float
    habit: str | None
    pace: float


def draw_mind(lot: Random, habits: list[str]) -> Mind:
    habit = lot.choice(habits) if habits and lot.random() < HABITUAL else None
    return Mind(ability=lot.gauss(3.4, 1.1), habit=habit, pace=lot.uniform(14, 34))


def habits_offered(versions: Iterable[Version], *, at_least: int = 4) -> list[str]:
    """The kinds of mistake that stand behind options of at least so many of these questions."""
    offered = Counter(kind for version in versions for kind in set(kinds_of(version).values()))
    return sorted(kind for kind, count in offered.items() if count >= at_least)


def kinds_of(version: Version) -> dict[str, str]:
    """The kind of the first mistake behind each wrong option, by its letter."""
    options = version.options["options"]
    return {option["label"]: option["mistakes"][0]["kind"] for option in options if option["mistakes"]}


def choose(mind: Mind, version: Version, lot: Random) -> str:
    """The letter of the option that this pupil picks."""
    kinds = kinds_of(version)
    tempting = [letter for letter, kind in kinds.items() if kind == mind.habit]
    if tempting and lot.random() < FOLLOWED:
        return lot.choice(tempting)
    knows = GUESSED + (1 - GUESSED) / (1 + exp(1.4 * (version.level - mind.ability)))
    return version.key if lot.random() < knows else lot.choice(sorted(kinds))


def seconds_for(mind: Mind, version: Version, lot: Random) -> float:
    """How long the pupil looks at the question: longer at hard ones."""
    return mind.pace * lot.uniform(0.6, 1.4) * (0.7 + 0.1 * version.level)
