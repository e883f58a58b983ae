"""Attackers on sets drawn by lot: who sees only the five pictures must not find the key.

    python -m tests.bench.bench_guessing [--wish default|flaps|two|plain ...] [--seed S] [--attackers WORD] (see --help)

Three attackers look at fresh questions of ``generate``: the nine strategies of ``geometry.guessing``; boosted trees on
ranks and on richer features (likeness, symmetry, mates of holes in likely creases, shared and lonely holes, distances),
trained on other questions; and two learners on rasters of each picture beside the other four. Each rate is printed with
its exact 95 % interval (Clopper and Pearson; scipy). Chance is 0.20; the bound is 0.23 for every rate. As a check that
the attackers can see at all, the same learners are run on teaching sets, where the key is no lot (``--wish teaching``).
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from PIL import Image, ImageDraw
from scipy.stats import binomtest, rankdata
from sklearn.decomposition import PCA
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.neural_network import MLPClassifier

from geometry.generation import generate
from geometry.guessing import STRATEGIES, Look, chance_of
from geometry.marks import reflection_in
from geometry.option_sets import Option, OptionSet
from geometry.places import FIRSTS

BOUND = 0.23
TESTED = 101  # added to the seed
OFTEN = 0.05  # of the wrong options: a kind that is no rarity
ACROSS = 24  # pixels of a raster
FINE = 4  # pixels drawn for each one kept
WISHES: dict[str, dict[str, Any]] = {
    "default": {},
    "flaps": {"flaps": True},
    "two": {"folds": (2, 2)},
    "plain": {"creases": ("straight", "diagonal")},
    "teaching": {"sets": "teaching"},
}
LINES = np.array(FIRSTS, dtype=float)
LINES /= np.hypot(LINES[:, 0], LINES[:, 1])[:, None]
Features = Callable[[Sequence[Option]], np.ndarray]  # of five options: a row each
Learner = Callable[[np.ndarray, np.ndarray], Callable[[np.ndarray], np.ndarray]]  # gives scores for such rows


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--train", type=int, default=1000)
    parser.add_argument("--test", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=101, help="of the questions trained on; others are tested")
    parser.add_argument("--attackers", default="", metavar="WORD", help="those with this word in their names")
    parser.add_argument("--wish", nargs="+", choices=WISHES, default=list(WISHES)[:4])
    args = parser.parse_args()
    worst = 0.0
    for name in args.wish:
        train, test = sets(name, args.train, args.seed), sets(name, args.test, args.seed + TESTED)
        print(f"{name:9} {mixture(test)}", flush=True)
        for attacker, hits in attack(train, test, args.attackers):
            rate, (low, high) = hits / len(test), binomtest(round(hits), len(test), 0.2).proportion_ci(0.95)
            print(f"{name:9} {attacker:28} {rate:.3f}  [{low:.3f}, {high:.3f}]  n={len(test)}", flush=True)
            worst = max(worst, rate if name != "teaching" else 0)
    print(f"worst on lots: {worst:.3f}; bound {BOUND}")
    return 0 if worst <= BOUND else 1


def sets(name: str, count: int, seed: int) -> list[OptionSet]:
    return [options for _, options in generate(count=count, seed=seed, **WISHES[name])]


def mixture(test: Sequence[OptionSet]) -> str:
    """How rich the wrong options are: the share that one mistake explains, and the kinds that are no rarity."""
    wrong = [option.mistakes for options in test for option in options.options if option.mistakes]
    shares = Counter(kind for mistakes in wrong for kind in {mistake.kind for mistake in mistakes})
    often = [f"{kind} {n / len(wrong):.2f}" for kind, n in shares.most_common() if n >= OFTEN * len(wrong)]
    single = sum(len(mistakes) == 1 for mistakes in wrong) / len(wrong)
    return f"single mistake {single:.2f}; {len(often)} kinds at {OFTEN:.0%} or more: {', '.join(often)}"


def attack(train: Sequence[OptionSet], test: Sequence[OptionSet], word: str = "") -> Iterator[tuple[str, float]]:
    """Hits on the test sets of each attacker with this word in its name."""
    for name, strategy in STRATEGIES.items():
        if word in name:
            yield name, sum(chance_of(strategy, looks_of(o.options), place_of_key(o)) for o in test)
    for name, (learner, features) in LEARNERS.items():
        if word in name:
            yield name, sum(hits(learner, features, train, test))


def place_of_key(options: OptionSet) -> int:
    return "ABCDE".index(options.key)


def hits(learner: Learner, features: Features, train: Sequence[OptionSet], test: Sequence[OptionSet]) -> list[bool]:
    """Whether a learner finds each test set's key."""
    x = np.concatenate([features(o.options) for o in train])
    y = np.concatenate([np.arange(5) == place_of_key(o) for o in train])
    scores = learner(x, y)(np.concatenate([features(o.options) for o in test])).reshape(-1, 5)
    return [bool(row.argmax() == place_of_key(o)) for row, o in zip(scores, test, strict=True)]


def trees_on(features: Features, train: Sequence[OptionSet], test: Sequence[OptionSet]) -> list[bool]:
    """The same for boosted trees."""
    return hits(_trees, features, train, test)


def _trees(x: np.ndarray, y: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    trees = HistGradientBoostingClassifier(
        max_iter=150, learning_rate=0.06, max_leaf_nodes=15, l2_regularization=1.0, random_state=0
    )
    trees.fit(x, y)
    return lambda z: trees.predict_proba(z)[:, 1]


def _raster_trees(x: np.ndarray, y: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    seen = PCA(60, random_state=0).fit(x)
    trees = _trees(seen.transform(x), y)
    return lambda z: trees(seen.transform(z))


def _network(x: np.ndarray, y: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
    """Every training picture in its eight positions, so that the network need not learn them."""
    x, y = np.concatenate([_turned(x, k) for k in range(8)]), np.tile(y, 8)
    network = MLPClassifier((48, 16), alpha=1e-2, max_iter=12, early_stopping=True, random_state=0).fit(x, y)
    return lambda z: np.mean([network.predict_proba(_turned(z, k))[:, 1] for k in range(8)], axis=0)


def _turned(x: np.ndarray, k: int) -> np.ndarray:
    pictures = x.reshape(len(x), -1, ACROSS, ACROSS)
    pictures = np.rot90(pictures, k % 4, axes=(2, 3))
    return (pictures[..., ::-1] if k >= 4 else pictures).reshape(len(x), -1)


# --- features -------------------------------------------------------------------------------------------------------


def looks_of(options: Sequence[Option]) -> list[Look]:
    return [Look(tuple((complex(h.centroid.x, h.centroid.y), h.area) for h in option.holes)) for option in options]


def ranks(options: Sequence[Option]) -> np.ndarray:
    """How each option stands among the five under each strategy."""
    looks = looks_of(options)
    scores = np.round([strategy(looks) for strategy in STRATEGIES.values()], 9)
    return np.array([rankdata(row) for row in scores]).T


def richer(options: Sequence[Option]) -> np.ndarray:
    """Ranks, and for each option figures of its own, as they are, ranked, and beside the others' mean."""
    looks = looks_of(options)
    own = np.array([_figures(look, option, looks) for look, option in zip(looks, options, strict=True)])
    ranked = np.array([rankdata(np.round(column, 7)) for column in own.T]).T
    return np.hstack([ranks(options), own, ranked, own - own.mean(axis=0), np.tile(own.std(axis=0), (5, 1))])


def _figures(look: Look, option: Option, looks: Sequence[Look]) -> list[float]:
    z = np.array([at for at, _ in look.holes])
    areas = np.array([area for _, area in look.holes])
    others = [other for other in looks if other is not look]
    shared = [len(look.places & other.places) for other in others]
    gaps = [abs(p - q) for p, q in combinations(z, 2)] or [0.0]
    mates = _mates(z, areas)
    return [
        len(z),
        float(areas.sum()),
        len(np.unique(areas.round(5))),
        float(np.abs(z - (0.5 + 0.5j)).mean()),
        abs(z.mean() - (0.5 + 0.5j)),
        min(gaps),
        float(np.mean(gaps)),
        float(np.minimum.reduce([z.real, 1 - z.real, z.imag, 1 - z.imag]).min()),
        max(shared),
        min(shared),
        sum(shared),
        sum(p not in set().union(*(o.places for o in others)) for p in look.places),
        sum(all(p in o.places for o in others) for p in look.places),
        float(np.max(mates)),
        float((mates > 0.99).sum()),
        float(np.sort(mates)[-3:].mean()),
        _half_turn(look),
        look.symmetry,
        float(np.mean([_mirrored_outlines(option, line) for line in LINES[np.argsort(-mates)[:2]]])),
        float(z.real.std()),
        float(z.imag.std()),
        len(np.unique(z.real.round(4))),
        len(np.unique(z.imag.round(4))),
    ]


def _mates(z: np.ndarray, areas: np.ndarray) -> np.ndarray:
    """For each likely crease, the share of holes whose mirror image is a hole, or lies off the sheet."""
    a, b, c = LINES.T
    heights = a[:, None] * z.real + b[:, None] * z.imag + c[:, None]
    images = z[None, :] - 2 * heights * (a + 1j * b)[:, None]
    near = (np.abs(images[:, :, None] - z[None, None, :]) < 1e-3) & (np.abs(areas[:, None] - areas) < 1e-6)[None]
    off = (images.real < 0) | (images.real > 1) | (images.imag < 0) | (images.imag > 1)
    return (near.any(axis=2) | off).mean(axis=1) - 0.5 * off.all(axis=1)


def _half_turn(look: Look) -> float:
    turned = Look(tuple((1 + 1j - at, area) for at, area in look.holes))
    return len(turned.places & look.places) / len(look.holes)


def _mirrored_outlines(option: Option, line: np.ndarray) -> float:
    """The share of holes, on one side of a crease, that lie as true mirror images on the other, turn included."""
    a, b, c = line
    mirror = reflection_in(-c * complex(a, b), complex(-b, a))
    images = [shapely.transform(h, lambda xy: _reflected(xy, mirror)) for h in option.holes]
    return sum(any(h.equals_exact(i, 1e-6, normalize=True) for i in images) for h in option.holes) / len(option.holes)


def _reflected(xy: np.ndarray, mirror: Any) -> np.ndarray:
    z = mirror.u * np.conj(xy[:, 0] + 1j * xy[:, 1]) + mirror.t
    return np.column_stack([z.real, z.imag])


def rasters(options: Sequence[Option]) -> np.ndarray:
    """Each option's picture beside the mean of the others'."""
    pictures = np.array([raster(option) for option in options])
    others = (pictures.sum(axis=0) - pictures) / 4
    return np.hstack([pictures, others])


def raster(option: Option) -> np.ndarray:
    side = ACROSS * FINE
    image = Image.new("L", (side, side), 0)
    draw = ImageDraw.Draw(image)
    for hole in option.holes:
        draw.polygon([(x * side, (1 - y) * side) for x, y in hole.exterior.coords], fill=255)
    small = np.asarray(image, dtype=np.float32).reshape(ACROSS, FINE, ACROSS, FINE).mean(axis=(1, 3))
    return (small / 255).ravel()


LEARNERS: dict[str, tuple[Learner, Features]] = {
    "trees on ranks": (_trees, ranks),
    "trees on richer features": (_trees, richer),
    "trees on rasters": (_raster_trees, rasters),
    "network on rasters": (_network, rasters),
}


if __name__ == "__main__":
    sys.exit(main())
