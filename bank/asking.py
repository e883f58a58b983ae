"""What a teacher asks the generator for, and how it is shared out: a wish for each place of the batch.

Every place has a wish and a lot of its own, so that questions can be made one at a time, by whoever takes the work up,
stopped and gone on with, and still the same seed gives the same questions.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from random import Random
from typing import Any

from geometry.creasing import CREASES
from geometry.generation import LOT, advice
from geometry.mistakes import KINDS
from geometry.shapes import SHAPES
from geometry.wishes import Wishes

MOST = 100  # questions of one batch
RISING, SHARED, MIXED = "rising", "shared", "mixed"
ARRANGEMENTS = {
    RISING: "As they come, easiest first",
    SHARED: "As many of each level, easiest first",
    MIXED: "As many of each level, in any order",
}
FRESH, VARIANTS, SISTER = "fresh", "variants", "sister"  # the last two are made from a question of the bank
MOST_VARIANTS = 6
CREASE = "crease:"  # before the name of a kind of crease, in what at least so many questions shall have
CREASE_WORDS = {"straight": "straight creases only", "diagonal": "diagonal mirrors", "oblique": "slanting creases"}


@dataclass(frozen=True)
class AtLeast:
    """At least ``count`` questions with ``what``: the name of a mistake, or ``crease:`` and a kind of crease."""

    what: str
    count: int


@dataclass(frozen=True)
class Ask:
    """``count`` questions; spans are (least, most). ``at_least`` is met by the first places of a lot of their own.

    ``kind`` tells whether they are fresh, or made from a question, whose likeness then takes the wishes' place.
    ``spec`` is the question at a workbench of which a sister is wanted, saved or not.
    """

    count: int
    seed: int
    folds: tuple[int, int] = (2, 3)
    punches: tuple[int, int] = (1, 2)
    creases: tuple[str, ...] = CREASES
    shapes: tuple[str, ...] = tuple(SHAPES)
    flaps: bool = False
    levels: tuple[int, int] = (1, 5)
    arrangement: str = RISING
    at_least: tuple[AtLeast, ...] = ()
    sets: str = LOT
    kind: str = FRESH
    spec: dict[str, Any] | None = None

    def to_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Ask:
        read: dict[str, Any] = {name: tuple(v) if isinstance(v, list) else v for name, v in data.items()}
        read["at_least"] = tuple(AtLeast(**one) for one in data["at_least"])
        return cls(**read)

    @property
    def is_rising(self) -> bool:
        """True when questions stand easiest first."""
        return self.arrangement != MIXED

    def wishes(self) -> list[Wishes]:
        """The wish for each place, the first place first."""
        plain = Wishes(self.folds, self.punches, self.creases, self.shapes, self.flaps)
        wished = [replace(plain, difficulty=level) for level in self._levels()]
        places = Random(f"places:{self.seed}").sample(range(self.count), self.count)  # noqa: S311  (a lot, not a secret)
        start = 0
        for floor in self.at_least:
            for step in range(min(floor.count, self.count)):
                place = places[(start + step) % self.count]
                wished[place] = _with(wished[place], floor.what)
            start += floor.count
        return wished

    def _levels(self) -> list[tuple[int, int]]:
        low, high = self.levels
        if self.arrangement == RISING:
            return [self.levels] * self.count
        shared = [low + place * (high - low + 1) // self.count for place in range(self.count)]
        if self.arrangement == MIXED:
            Random(f"levels:{self.seed}").shuffle(shared)  # noqa: S311  (a lot, not a secret)
        return [(level, level) for level in shared]


def _with(wish: Wishes, what: str) -> Wishes:
    if what.startswith(CREASE):
        return replace(wish, creases=(what.removeprefix(CREASE),))
    return replace(wish, mistakes=(*wish.mistakes, what))


def lot_for(seed: int, *which: int) -> int:
    """The seed of one draw: the same on every machine, and unlike those of its neighbours."""
    return int.from_bytes(sha256(":".join(map(str, (seed, *which))).encode()).digest()[:8])


def what_ran_out(wishes: Sequence[Wishes], gaps: Sequence[int], sets: str) -> str:
    """Say which wishes were not met, how many of each, and what would help; "" when all were. Gaps count from 1."""
    missed = Counter(wishes[place - 1] for place in gaps)
    if not missed:
        return ""
    told = "; ".join(f"{count} {_told(wish)}" for wish, count in missed.items())
    return f"No more were found of these: {told}. {advice(next(iter(missed)), sets)}"


def _told(wish: Wishes) -> str:
    parts = [_span(wish.folds, "fold"), f"difficulty {_numbers(wish.difficulty)}"]
    if len(wish.creases) == 1:
        parts.append(CREASE_WORDS[wish.creases[0]])
    parts += [f"“{KINDS[name].label}”" for name in wish.mistakes]
    return f"with {', '.join(parts)}"


def _numbers(span: tuple[int, int]) -> str:
    low, high = span
    return str(low) if low == high else f"{low} to {high}"


def _span(span: tuple[int, int], word: str) -> str:
    return f"{_numbers(span)} {word}{'' if span == (1, 1) else 's'}"
