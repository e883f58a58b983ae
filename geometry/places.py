"""Where a punch may stand so that every hole it makes is clear of every crease and of the rim.

A hole's images are points reflected in creases, so a whole grid of places is tried at once, without folding paper: for
given later folds, which places fit at all, and which first creases would double their holes.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache, lru_cache
from math import hypot
from random import Random

import numpy as np

from geometry.creasing import CREASES, mirror_of, natural_lines
from geometry.plane import Line, Point
from geometry.telling_apart import NEAR, NEAR_SIZES

STEPS = 24  # punches stand on twenty-fourths of the sheet
CLEARANCE = 1 / 30  # sheet widths, a millimetre in print, between a hole and any edge or crease
APART = 1.25  # sizes between the centres of two holes, at least
TINY = 1e-9
TRIES = 6  # places from which room for further punches is looked for

FIRSTS: tuple[Line, ...] = tuple(line for kind in CREASES for line in natural_lines(kind))
_COEFFICIENTS = np.array(FIRSTS) / np.hypot(*np.array(FIRSTS)[:, :2].T)[:, None]
_TURNS = np.array([mirror_of(line).u for line in FIRSTS])
_SHIFTS = np.array([mirror_of(line).t for line in FIRSTS])


@cache
def _grid() -> np.ndarray:
    steps = np.arange(1, STEPS) / STEPS
    return (steps[:, None] + 1j * steps[None, :]).ravel()


class Places:
    """The places for holes of a size, given the creases of all folds but the first (the last fold's last).

    ``images[h, p]`` is hole h of place p: all lie on the sheet, clear of these creases. ``first_fits[l, p]``: so they
    do when the first fold is made in ``FIRSTS[l]``, which then doubles some hole and leaves none across the rim;
    ``doubled[l, p]`` has bit h set when it doubles hole h. ``sides`` and ``first_sides`` tell on which side of the
    creases the holes lie.
    """

    def __init__(self, lines: Sequence[Line], size: float, *, at: Point | None = None):
        self.size = size
        self._reach = size / 2 + CLEARANCE - TINY
        self.images = _grid()[None, :] if at is None else np.array([[complex(*map(float, at))]])
        self.sides = np.zeros(self.images.shape[1], dtype=int)
        self._keep(self._inside(self.images[0]))
        for line in reversed(lines):
            self._double(line)
        self.first_fits, self.first_sides, self.doubled = self._firsts()
        self.every_hole = (1 << len(self.images)) - 1

    def _keep(self, fits: np.ndarray) -> None:
        self.images, self.sides = self.images[:, fits], self.sides[fits]

    def _double(self, line: Line) -> None:
        """Open one more fold: it doubles every hole."""
        a, b, c = line
        above, below = self._one_side((a * self.images.real + b * self.images.imag + c) / hypot(a, b), axis=0)
        mirror = mirror_of(line)
        copies = mirror.u * self.images.conj() + mirror.t
        self.images = np.concatenate([self.images, copies])
        self.sides = 2 * self.sides + above
        self._keep((above | below) & self._inside(copies).all(axis=0))

    def _firsts(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        images = self.images[None, :, :]
        a, b, c = (_COEFFICIENTS[:, i, None, None] for i in range(3))
        above, below = self._one_side(a * images.real + b * images.imag + c, axis=1)
        copies = _TURNS[:, None, None] * images.conj() + _SHIFTS[:, None, None]
        inside = self._inside(copies)
        whole = inside.any(axis=1) & (inside | self._outside(copies)).all(axis=1)
        bits = 1 << np.arange(len(self.images))
        return (above | below) & whole, above, (inside * bits[None, :, None]).sum(axis=1)

    def _one_side(self, heights: np.ndarray, axis: int) -> tuple[np.ndarray, np.ndarray]:
        return np.all(heights >= self._reach, axis=axis), np.all(heights <= -self._reach, axis=axis)

    def _inside(self, z: np.ndarray) -> np.ndarray:
        low, high = self._reach, 1 - self._reach
        return (z.real >= low) & (z.real <= high) & (z.imag >= low) & (z.imag <= high)

    def _outside(self, z: np.ndarray) -> np.ndarray:
        low, high = -self.size / 2 - TINY, 1 + self.size / 2 + TINY
        return (z.real <= low) | (z.real >= high) | (z.imag <= low) | (z.imag >= high)

    def fitting(self, choices: np.ndarray) -> np.ndarray:
        """For each row of a table of first creases, which places fit them all, each crease doubling the same holes."""
        doubled = self.doubled[choices]
        return self.first_fits[choices].all(axis=1) & (doubled == doubled[:, :1]).all(axis=1)

    def heights(self, first: int) -> np.ndarray:
        """How far the punches lie on the positive side of a first crease."""
        a, b, c = _COEFFICIENTS[first]
        return a * self.images[0].real + b * self.images[0].imag + c

    def heights_of_corners(self, first: int) -> np.ndarray:
        """How far the square's corners lie on the positive side of a first crease."""
        a, b, c = _COEFFICIENTS[first]
        return np.array([a * x + b * y + c for x in (0, 1) for y in (0, 1)])

    def on_positive_side(self, line: Line) -> np.ndarray:
        """Which punches lie on the positive side of a line."""
        return line[0] * self.images[0].real + line[1] * self.images[0].imag + line[2] > 0

    def drawn(self, rng: Random, count: int, firsts: Sequence[int], fits: np.ndarray) -> list[Point] | None:
        """``count`` fitting places on the same side of every crease, first creases too; None when there is no room."""
        fitting = np.flatnonzero(fits)
        for _ in range(TRIES if len(fitting) >= count else 0):
            found = self._together(rng, int(fitting[rng.randrange(len(fitting))]), count, fitting, firsts)
            if len(found) == count:
                return [self._point(place) for place in found]
        return None

    def _together(self, rng: Random, first: int, count: int, fitting: np.ndarray, firsts: Sequence[int]) -> list[int]:
        """A place and others, drawn by lot, whose holes keep apart: ``count`` of them if there is room."""
        found = [first]
        beside = self._beside(first, fitting, firsts) if count > 1 else []
        rng.shuffle(beside)
        for place in beside:
            if len(found) < count and all(self._apart(place, other) for other in found):
                found.append(place)
        return found

    def another(
        self, rng: Random, at: Point, others: Sequence[Point], firsts: Sequence[int], fits: np.ndarray
    ) -> Point | None:
        """A visibly different fitting place on the same sides as ``at``, clear of other punches; None without one."""
        own = self._index(at)
        shift = max(NEAR, NEAR_SIZES * self.size) - TINY
        beside = self._beside(own, np.flatnonzero(fits), firsts)
        away = [p for p in beside if abs(self.images[0, p] - self.images[0, own]) >= shift]
        free = [p for p in away if all(self._apart(p, self._index(other)) for other in others)]
        return self._point(rng.choice(free)) if free else None

    def _beside(self, place: int, fitting: np.ndarray, firsts: Sequence[int]) -> list[int]:
        """Those of the places that lie on the same side of every crease as a place."""
        chosen = list(firsts)
        sides = self.first_sides[chosen][:, fitting]
        same = (sides == self.first_sides[chosen, place][:, None]).all(axis=0)
        return fitting[same & (self.sides[fitting] == self.sides[place])].tolist()

    def _apart(self, place: int, other: int) -> bool:
        """True when no hole of one place comes near a hole of the other."""
        gaps = np.abs(self.images[:, place, None] - self.images[None, :, other])
        return bool(gaps.min() >= APART * self.size)

    def _point(self, place: int) -> Point:
        at = self.images[0, place]
        return Fraction(round(at.real * STEPS), STEPS), Fraction(round(at.imag * STEPS), STEPS)

    def _index(self, point: Point) -> int:
        return int(np.abs(self.images[0] - complex(*map(float, point))).argmin())


@lru_cache(maxsize=80)
def places_for(lines: tuple[Line, ...], size: Fraction) -> Places:
    """The places for some later creases; the latest asked for are kept."""
    return Places(lines, float(size))


def away_from(line: Line, point: Point) -> Line:
    """The line with its positive side, which moves, chosen so that a point stays."""
    a, b, c = line
    return (-a, -b, -c) if a * point[0] + b * point[1] + c > 0 else line
