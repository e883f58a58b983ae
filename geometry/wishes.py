"""What questions are asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from geometry.creasing import CREASES
from geometry.shapes import SHAPES

SIZES = {1: Fraction(1, 8), 2: Fraction(1, 10), 3: Fraction(1, 10), 4: Fraction(1, 10)}  # of holes, by number of folds
SMALL = Fraction(1, 12)


@dataclass(frozen=True)
class Wishes:
    """Folds and punches (least and most), creases and shapes, flaps or not, levels, and mistakes to be offered."""

    folds: tuple[int, int] = (2, 3)
    punches: tuple[int, int] = (1, 2)
    creases: tuple[str, ...] = CREASES
    shapes: tuple[str, ...] = tuple(SHAPES)
    flaps: bool = False
    difficulty: tuple[int, int] = (1, 5)
    mistakes: tuple[str, ...] = ()

    def size(self, folds: int) -> Fraction:
        """The size of holes for a number of folds."""
        return SIZES.get(folds, SMALL)

    def draw_folds(self, rng: Random) -> int | None:
        """A number of folds, two at least; None when fewer are wished."""
        low, high = max(self.folds[0], 2), self.folds[1]
        return rng.randint(low, high) if low <= high else None

    def draw_pair_of_folds(self, rng: Random) -> int | None:
        """A number of folds, two at least, that with one more is still wished."""
        low, high = max(self.folds[0], 2), self.folds[1] - 1
        return rng.randint(low, high) if low <= high else None

    def without_chiral(self) -> Wishes:
        """The same without shapes that no punch can show mirrored."""
        return replace(self, shapes=tuple(s for s in self.shapes if not SHAPES[s].is_chiral))

    def with_one_punch(self) -> Wishes:
        return replace(self, punches=(1, 1))
