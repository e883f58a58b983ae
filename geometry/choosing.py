"""Choosing questions for a set that is to show whether a pupil makes one mistake again and again.

A habit can be told only where it was offered often enough: from about eight times on, by a simulation of ours
(``tests/bench/bench_diagnosis.py``). So a set looks for as many kinds of mistake as it can offer that often, and offers
each of these as evenly as it can.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from random import Random
from typing import NamedTuple

import numpy as np

from geometry.errors import OptionSetError
from geometry.option_sets import LABELS, OptionSet

BESIDES = 0.5  # how much an offer counts where no option stands for the kind alone
OFTEN = 8.5  # offers from which on a habit can be told
WRONG = len(LABELS) - 1  # options of a question that stand for mistakes
ROUNDS = 6  # rounds of exchanging chosen questions for better ones


class Choice(NamedTuple):
    """The places of the chosen questions in their pool, in order; and how often each kind looked for is offered."""

    places: list[int]
    offered: dict[str, float]


def offers(options: OptionSet) -> dict[str, float]:
    """The kinds of mistake that a question offers: 1 for a kind that an option stands for alone, else less."""
    found: dict[str, float] = {}
    for option in options.options:
        kinds = {mistake.kind for mistake in option.mistakes}
        for kind in kinds:
            found[kind] = max(found.get(kind, 0.0), 1.0 if len(kinds) == 1 else BESIDES)
    return found


def balanced(pool: Sequence[Mapping[str, float]], count: int, seed: int = 0) -> Choice:
    """``count`` questions of a pool, each given by its ``offers``, that look for as many kinds as they can, evenly.

    The same pool and seed give the same choice. Raises ``OptionSetError`` when the pool holds fewer questions.
    """
    if count > len(pool):
        raise OptionSetError(f"{count} questions cannot be chosen from {len(pool)}: draw more of them first.")
    totals: Counter[str] = Counter()
    for one in pool:
        totals.update(one)
    kinds = [kind for kind, _ in sorted(totals.items(), key=lambda item: (-item[1], item[0]))]
    for looked_for in range(min(len(kinds), round(WRONG * count / OFTEN)), 0, -1):
        choice = _even(pool, kinds[:looked_for], count, seed)
        if min(choice.offered.values()) >= OFTEN:
            return choice
    return _even(pool, kinds[:1], count, seed)


def _even(pool: Sequence[Mapping[str, float]], kinds: Sequence[str], count: int, seed: int) -> Choice:
    """Questions drawn by lot, then exchanged one by one for those that bring every kind nearer to an even share."""
    table = np.array([[one.get(kind, 0.0) for kind in kinds] for one in pool]).reshape(len(pool), len(kinds))
    share = WRONG * count / max(len(kinds), 1)
    order = list(range(len(pool)))
    Random(seed).shuffle(order)  # noqa: S311  (a lot, not a secret)
    chosen, settled = order[:count], False
    for _ in range(ROUNDS):
        if settled:
            break
        settled = True
        for place, leaving in enumerate(chosen):
            kept = [i for i in chosen if i != leaving]
            misses = ((share - table[kept].sum(axis=0) - table) ** 2).sum(axis=1).round(9)
            misses[kept] = np.inf
            if misses.min() < misses[leaving]:
                chosen[place], settled = next(i for i in order if misses[i] == misses.min()), False
    return Choice(sorted(chosen), dict(zip(kinds, table[chosen].sum(axis=0).tolist(), strict=True)))
