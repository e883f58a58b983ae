"""How surely a planted habit is found from 20 answers to sets of our own making.

    python -m tests.bench.bench_diagnosis [--pupils N]

Of a pool of fresh questions 20 are chosen that look for some kinds of mistake evenly (``choosing.balanced``), and
simulated pupils answer them. Half have a habit of one of these kinds, which they follow seven times in ten where it is
offered; else, and without a habit, they choose the key eight times in ten. They obey the model that judges them, so the
rates are an upper bound. Goals: teaching sets 95 %, lots 85 %, false alarms under 2 %.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from random import Random

from scipy.stats import binomtest

from assignments.habits import Answer, believe
from geometry.choosing import balanced, offers
from geometry.generation import LOT, SETS, TEACHING, generate
from geometry.option_sets import OptionSet

ANSWERS, FOLLOWED, KNOWN = 20, 0.7, 0.8
GOALS = {TEACHING: 0.95, LOT: 0.85}


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--pupils", type=int, default=1200)
    parser.add_argument("--pool", type=int, default=200)
    args = parser.parse_args()
    fell_short = False
    for sets in SETS:
        pool = [options for _, options in generate(count=args.pool, seed=515, sets=sets)]
        places, offered = balanced([offers(options) for options in pool], ANSWERS, 1)
        found, wrong, false = rates([pool[i] for i in places], list(offered), args.pupils, Random(1))
        said = f"found {_said(found, args.pupils // 2)}, another named {wrong:.3f}"
        print(f"{sets:9} {len(offered)} kinds: {said}, false alarms {_said(false, args.pupils // 2)}")
        print("         ", ", ".join(f"{kind} {times:g}" for kind, times in offered.items()))
        fell_short |= found < GOALS[sets] or false >= 0.02
    return int(fell_short)


def rates(chosen: Sequence[OptionSet], kinds: Sequence[str], pupils: int, lot: Random) -> tuple[float, float, float]:
    """The share of planted habits named, that for which another is, and that of pupils without for whom one is."""
    offered = [offered_by(options) for options in chosen]
    found = wrong = false = 0
    for number in range(pupils):
        habit = lot.choice(kinds) if number % 2 else None
        named = believe(sat(offered, chosen, habit, lot)).named
        found += habit is not None and named == habit
        wrong += habit is not None and named not in (habit, None)
        false += habit is None and named is not None
    half = pupils // 2
    return found / half, wrong / half, false / half


def offered_by(options: OptionSet) -> dict[str, frozenset[str]]:
    return {option.label: frozenset(mistake.kind for mistake in option.mistakes) for option in options.options}


def sat(
    offered: Sequence[dict[str, frozenset[str]]], chosen: Sequence[OptionSet], habit: str | None, lot: Random
) -> list[Answer]:
    """A simulated pupil's answers."""
    answers = []
    for one, options in zip(offered, chosen, strict=True):
        alone = [label for label, kinds in one.items() if kinds == {habit}]
        tempting = alone or [label for label, kinds in one.items() if habit in kinds]
        wrong = [label for label in one if label != options.key]
        plain = options.key if lot.random() < KNOWN else lot.choice(wrong)
        answers.append(Answer(one, lot.choice(tempting) if tempting and lot.random() < FOLLOWED else plain))
    return answers


def _said(rate: float, n: int) -> str:
    low, high = binomtest(round(rate * n), n).proportion_ci(0.95)
    return f"{rate:.3f} [{low:.3f}, {high:.3f}]"


if __name__ == "__main__":
    sys.exit(main())
