"""How guessable teaching sets are, by the kinds of mistake they offer: measures it and stores it with the package.

    python -m tests.bench.measure_guessing [--count N]

Writes ``geometry/guessed.json``: how often the key is found by the best of the nine simple strategies
(the best on one half is counted on the other), and by boosted trees that have learned from the other half. Kinds are
counted over the sets that offer them.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

from geometry.generation import TEACHING, generate
from geometry.guessing import STRATEGIES, chance_of
from geometry.option_sets import OptionSet
from tests.bench.bench_guessing import looks_of, place_of_key, richer, trees_on

TARGET = Path(__file__).parents[2] / "geometry" / "guessed.json"


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--count", type=int, default=800)
    count = parser.parse_args().count
    sets = [options for _, options in generate(count=count, seed=2026, folds=(1, 3), sets=TEACHING)]
    simple, learned = measured(sets)
    table = {
        "command": f"python -m tests.bench.measure_guessing --count {count}",
        "sets": count,
        "simple": round(float(np.mean(simple)), 3),
        "learned": round(float(np.mean(learned)), 3),
        "kinds": by_kind(sets, simple, learned),
    }
    TARGET.write_text(json.dumps(table, indent=1) + "\n")
    print(TARGET.read_text())
    return 0


def measured(sets: list[OptionSet]) -> tuple[list[float], list[float]]:
    """For each set, how likely the key is found: by the strategy that did best on the other half, and by the trees."""
    middle = len(sets) // 2
    simple, learned = list[float](), list[float]()
    for test, train in ((sets[:middle], sets[middle:]), (sets[middle:], sets[:middle])):
        best = max(STRATEGIES, key=lambda name: sum(found(name, options) for options in train))
        simple += [found(best, options) for options in test]
        learned += [float(hit) for hit in trees_on(richer, train, test)]
        print(f"best simple strategy: {best}", file=sys.stderr)
    return simple, learned


def found(name: str, options: OptionSet) -> float:
    return chance_of(STRATEGIES[name], looks_of(options.options), place_of_key(options))


def by_kind(sets: list[OptionSet], simple: list[float], learned: list[float]) -> dict[str, dict[str, float]]:
    hits: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for options, one, other in zip(sets, simple, learned, strict=True):
        for kind in {mistake.kind for option in options.options for mistake in option.mistakes}:
            hits[kind].append((one, other))
    means = {kind: np.mean(rows, axis=0).round(3).tolist() for kind, rows in hits.items()}
    return {k: {"sets": len(hits[k]), "simple": means[k][0], "learned": means[k][1]} for k in sorted(hits)}


if __name__ == "__main__":
    sys.exit(main())
