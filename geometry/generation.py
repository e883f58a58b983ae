"""Fresh questions by the thousand: specs drawn at random, each with its option set, no two the same question.

The same wishes and seed give the same questions. What runs out is said, with what was found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from random import Random

from geometry.composing import CREASES, Wishes, compose
from geometry.errors import GeometryError, OptionSetError
from geometry.option_sets import OptionSet, make_options
from geometry.shapes import SHAPES
from geometry.spec import Spec

PATIENCE = 400  # draws without a new question before the wishes count as exhausted

Made = tuple[Spec, OptionSet]


def generate(
    *,
    count: int,
    seed: int,
    folds: tuple[int, int] = (2, 3),
    punches: tuple[int, int] = (1, 2),
    creases: Sequence[str] = CREASES,
    shapes: Sequence[str] = tuple(SHAPES),
    flaps: bool = False,
    difficulty: tuple[int, int] = (1, 5),
    mistakes: Sequence[str] = (),
    sets: str = "teaching",
) -> Iterator[Made]:
    """``count`` whole questions, distinct by fingerprint, one at a time.

    Raises ``OptionSetError`` once nothing new is found in ``PATIENCE`` draws; its sentence says how many were.
    """
    wishes = Wishes(folds, punches, tuple(creases), tuple(shapes), flaps)
    used: Counter[str] = Counter()

    def draw(rng: Random) -> Made | None:
        spec = compose(rng, wishes)
        if spec is None:
            return None
        try:
            made = make_options(spec, rng.getrandbits(32), kinds=mistakes, used=used)
        except GeometryError:
            return None
        return (spec, made) if difficulty[0] <= made.difficulty.level <= difficulty[1] else None

    for spec, made in _distinct(draw, count, Random(seed)):  # noqa: S311  (a lot, not a secret)
        used.update(m.kind for option in made.options for m in option.mistakes)
        yield spec, made


def _distinct(draw: Callable[[Random], Made | None], count: int, rng: Random) -> Iterator[Made]:
    seen: set[str] = set()
    fruitless = 0
    while len(seen) < count:
        made = draw(rng)
        if made is not None and made[1].fingerprint not in seen:
            seen.add(made[1].fingerprint)
            fruitless = 0
            yield made
            continue
        fruitless += 1
        if fruitless >= PATIENCE:
            raise OptionSetError(
                f"Nothing new was found in {PATIENCE} draws: {len(seen)} of {count} questions were made. "
                "Allow more folds, creases, shapes or levels."
            )
