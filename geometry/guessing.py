"""Guessing the key from the five pictures alone, as a pupil might who never looks at the folds.

Each strategy scores the pictures; it picks the highest score, and among equals each is as likely. On pictures that tell
nothing every strategy finds the key one time in five.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from geometry.flat import Flat
from geometry.marks import reflection_in, unit

CHANCE = 0.2
MIDDLE = 0.5 + 0.5j
CELL = 500 / 2**0.5  # places closer than about a five-hundredth of the sheet are one place


@dataclass(frozen=True)
class Look:
    """What a glance at a picture gives: the places of its holes, each with the hole's area."""

    holes: tuple[tuple[complex, float], ...]

    @cached_property
    def places(self) -> frozenset[tuple[int, int, int]]:
        return frozenset(_cell(at, area) for at, area in self.holes)

    @cached_property
    def symmetry(self) -> float:
        """How well it mirrors itself in one of the sheet's lines, and, where that is equal, in all of them."""
        images = zip(*[_images(*hole) for hole in self.holes], strict=True)
        kept = [sum(place in self.places for place in mirrored) / len(self.holes) for mirrored in images]
        return max(kept) + sum(kept) / 100

    @cached_property
    def balance(self) -> float:
        """How near the sheet's middle its holes balance."""
        return -abs(sum(at * a for at, a in self.holes) / sum(a for _, a in self.holes) - MIDDLE)

    @cached_property
    def spread(self) -> float:
        """How far from the sheet's middle its holes lie, on average."""
        return sum(abs(at - MIDDLE) for at, _ in self.holes) / len(self.holes)


def _cell(at: complex, area: float) -> tuple[int, int, int]:
    return round(at.real * CELL), round(at.imag * CELL), round(area * CELL * 10)


@lru_cache(maxsize=4096)
def _images(at: complex, area: float) -> tuple[tuple[int, int, int], ...]:
    """A hole's mirror images in the sheet's lines. Kept, as the pictures of a question share most of their holes."""
    return tuple(_cell(mirror.point(at), area) for mirror in _MIRRORS)


def look_at(flat: Flat) -> Look:
    """A glance at a flat sheet with holes, in an order that tells nothing of how they came about."""
    return Look(tuple(sorted(((m.middle, m.cut.area) for m in flat.marks), key=lambda hole: _cell(*hole))))


Scores = Sequence[float]
Strategy = Callable[[Sequence[Look]], Scores]


def most_alike(looks: Sequence[Look]) -> Scores:
    """Shares most holes with the others."""
    places = [look.places for look in looks]
    return [sum(len(p & q) / len(p | q) for q in places if q is not p) for p in places]


def most_symmetric(looks: Sequence[Look]) -> Scores:
    """Mirrors itself best in one of the sheet's lines, or in all of them together."""
    return [look.symmetry for look in looks]


def usual_count(looks: Sequence[Look]) -> Scores:
    """Has the commonest number of holes."""
    counts = Counter(len(look.holes) for look in looks)
    return [counts[len(look.holes)] for look in looks]


def most_holes(looks: Sequence[Look]) -> Scores:
    return [len(look.holes) for look in looks]


def fewest_holes(looks: Sequence[Look]) -> Scores:
    return [-len(look.holes) for look in looks]


def best_centred(looks: Sequence[Look]) -> Scores:
    """Its holes balance nearest the middle."""
    return [look.balance for look in looks]


def most_spread(looks: Sequence[Look]) -> Scores:
    return [look.spread for look in looks]


def least_alike(looks: Sequence[Look]) -> Scores:
    return [-score for score in most_alike(looks)]


def commonest_holes(looks: Sequence[Look]) -> Scores:
    """Every hole votes for the options that show it: the option whose holes are the most usual."""
    votes = Counter(place for look in looks for place in look.places)
    return [sum(votes[p] for p in look.places) / len(look.places) for look in looks]


_MIRRORS = tuple(reflection_in(MIDDLE, unit(angle)) for angle in (0, 45, 90, 135))
STRATEGIES: dict[str, Strategy] = {
    "most like the others": most_alike,
    "least like the others": least_alike,
    "most symmetric": most_symmetric,
    "commonest number of holes": usual_count,
    "most holes": most_holes,
    "fewest holes": fewest_holes,
    "best centred": best_centred,
    "most spread out": most_spread,
    "commonest holes": commonest_holes,
}


def chance_of(strategy: Strategy, looks: Sequence[Look], key: int) -> float:
    """How likely a strategy is to pick the option at place ``key``."""
    scores = [round(score, 9) for score in strategy(looks)]
    best = max(scores)
    return 1 / scores.count(best) if scores[key] == best else 0.0


def guessability(looks: Sequence[Look], key: int) -> float:
    """How likely the strategies are, on average, to pick the key of one set."""
    return round(sum(chance_of(s, looks, key) for s in STRATEGIES.values()) / len(STRATEGIES), 3)


@dataclass(frozen=True)
class Rate:
    """How often a strategy picked the key, over ``n`` sets."""

    strategy: str
    rate: float
    n: int


def rates(sets: Iterable[tuple[Sequence[Look], int]]) -> tuple[Rate, ...]:
    """Every strategy's success over many sets, each given as its looks and the place of its key."""
    totals: Counter[str] = Counter()
    n = 0
    for looks, key in sets:
        n += 1
        for name, strategy in STRATEGIES.items():
            totals[name] += chance_of(strategy, looks, key)  # type: ignore[assignment]
    return tuple(Rate(name, totals[name] / n, n) for name in STRATEGIES) if n else ()


def profile(looks: Sequence[Look], place: int) -> tuple[float, ...]:
    """How one option stands among the five under each strategy: the share of the others it beats, ties half."""
    return tuple(_standing(strategy(looks), place) for strategy in STRATEGIES.values())


def _standing(scores: Scores, place: int) -> float:
    own = scores[place]
    beaten = [1.0 if own > s + 1e-9 else 0.5 if own > s - 1e-9 else 0.0 for i, s in enumerate(scores) if i != place]
    return sum(beaten) / len(beaten)
