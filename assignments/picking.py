"""Pick questions for a set by rule: levels shared out, mistakes offered equally often, chance for the rest. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random


@dataclass(frozen=True)
class Traits:
    """What picking goes by: a question's primary key, level, predicted facility and the mistakes it offers."""

    question: int
    level: int
    facility: float
    kinds: frozenset[str]


def pick(pool: Iterable[Traits], count: int, seed: int, *, rising: bool = True) -> list[Traits]:
    """Return up to ``count`` of the pool: of each level as many as of any other, where there are as many.

    Of a level the next one is always that whose mistakes were offered least so far; among equals a lot decides, which
    ``seed`` draws. With ``rising`` the easiest come first (by level, then by predicted facility), else in the order
    of the lot.
    """
    lot = Random(seed)  # noqa: S311  (a lot, not a secret)
    shuffled = sorted(pool, key=lambda traits: traits.question)
    lot.shuffle(shuffled)
    by_level: dict[int, list[Traits]] = defaultdict(list)
    for traits in shuffled:
        by_level[traits.level].append(traits)
    offered: Counter[str] = Counter()
    picked: list[Traits] = []
    for level in _levels({level: len(found) for level, found in by_level.items()}, count, lot):
        rarest = min(by_level[level], key=lambda traits: _worn(traits, offered))
        by_level[level].remove(rarest)
        offered.update(rarest.kinds)
        picked.append(rarest)
    return sorted(picked, key=lambda t: (t.level, -t.facility)) if rising else lot.sample(picked, len(picked))


def _levels(stock: dict[int, int], count: int, lot: Random) -> Sequence[int]:
    """The level of each question to be picked, in rounds of one of each level that has any left."""
    wanted: list[int] = []
    left = dict(stock)
    while len(wanted) < count and any(left.values()):
        round_ = [level for level, number in left.items() if number]
        lot.shuffle(round_)
        for level in round_[: count - len(wanted)]:
            left[level] -= 1
            wanted.append(level)
    return wanted


def _worn(traits: Traits, offered: Counter[str]) -> float:
    """How often the mistakes of a question were offered before, on average."""
    return sum(offered[kind] for kind in traits.kinds) / max(len(traits.kinds), 1)
