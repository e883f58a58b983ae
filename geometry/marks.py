"""Marks: holes as they are carried about by right and wrong openings.

A mark is a cut (what the punch takes out of one layer) and the isometry that puts it where it lies. Points are complex
numbers, so that a reflection is one multiplication; two marks that look the same have the same key, whatever the way
they came. Marks are floats on purpose: every option is made from the same exact creases by the same few operations, and
read out through one door (``regions``), so that rounding tells nothing about which option is right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import pi, sqrt
from typing import NamedTuple

import numpy as np
import shapely

from geometry.folding import GRID
from geometry.plane import Motion

CELL = 1e6 / sqrt(2)  # an irrational scale, so that no rational coordinate stands on the border of two cells
DECIMALS = 9
ROUND_LOOKS = 5  # from so many equal turns on, nobody sees a shape turned (star, disc)
ROUND = 16  # from so many on it is round: its turn is not kept at all

Key = tuple[int | str, ...]


@dataclass(frozen=True, eq=False)
class Cut:
    """What a punch takes out of a layer: rings about the centre, in the pose they were drawn in.

    ``name`` tells cuts apart; ``rotations`` and ``mirror`` are their symmetries: ``mirror`` is the turn (a unit complex
    number) by which the mirrored cut comes to look like the cut itself, None when it never does. ``whole`` is False for
    a piece that a layer's edge cuts off, which may meet its neighbour.
    """

    name: str
    label: str
    rings: tuple[np.ndarray, ...]
    size: float
    rotations: int = 1
    mirror: complex | None = None
    whole: bool = True

    @property
    def shows_turning(self) -> bool:
        """False for shapes whose turning nobody sees."""
        return self.rotations < ROUND_LOOKS

    @cached_property
    def area(self) -> float:
        return self.polygon.area

    @cached_property
    def polygon(self) -> shapely.Polygon:
        return _polygon([_xy(ring) for ring in self.rings])

    @cached_property
    def middle(self) -> complex:
        """The cut's centroid, which is not always the centre it is turned about."""
        centroid = self.polygon.centroid
        return complex(centroid.x, centroid.y)


class Mark(NamedTuple):
    """A cut lying at ``at``: its point z lies at ``at + u z``, or at ``at + u conj(z)`` when ``flip`` is True.

    ``layers`` are the layers it goes through, each named by the folds that moved it (bit k-1 for fold k), or None when
    it has not been asked yet which paper lies there.
    """

    cut: Cut
    at: complex
    u: complex = 1 + 0j
    flip: bool = False
    layers: tuple[int, ...] | None = None

    @property
    def radius(self) -> float:
        return self.cut.size / 2

    @property
    def middle(self) -> complex:
        """The centroid of the mark where it lies."""
        return self.at + self.u * (self.cut.middle.conjugate() if self.flip else self.cut.middle)

    def moved_to(self, at: complex) -> Mark:
        """The same way round, elsewhere, on whatever paper lies there."""
        return self._replace(at=at, layers=None)

    def turned(self, u: complex) -> Mark:
        """Turned about its own centre by a unit complex number."""
        return self._replace(u=self.u * u, layers=None)

    def look(self) -> tuple[complex, bool]:
        """The turn and handedness that can be seen: equal for poses that the cut's symmetries make equal."""
        u, flip, cut = self.u, self.flip, self.cut
        if cut.rotations >= ROUND:
            return 1 + 0j, False
        if flip and cut.mirror is not None:
            u, flip = u * cut.mirror, False
        return u**cut.rotations, flip

    def key(self) -> Key:
        """Equal for marks that look the same: cut, place, turn and handedness."""
        cut, at, u, flip, _ = self
        x, y = round(at.real * CELL), round(at.imag * CELL)
        if cut.rotations >= ROUND:
            return (cut.name, x, y)
        if flip and cut.mirror is not None:
            u, flip = u * cut.mirror, False
        if cut.rotations > 1:
            u **= cut.rotations
        return (cut.name, x, y, round(u.real * CELL), round(u.imag * CELL), flip)

    @property
    def corners(self) -> np.ndarray:
        """The corners of its outline where the mark lies, N complex."""
        ring = self.cut.rings[0]
        return self.at + self.u * (ring.conj() if self.flip else ring)

    def rings(self) -> list[np.ndarray]:
        """The rings where the mark lies, N x 2 floats each."""
        return [_xy(self.at + self.u * (ring.conj() if self.flip else ring)) for ring in self.cut.rings]

    def region(self) -> shapely.Polygon:
        """The mark as a polygon, unrounded."""
        return _polygon(self.rings())


class Isometry(NamedTuple):
    """A motion of the plane in complex numbers: z goes to ``u z + t``, or to ``u conj(z) + t`` when it mirrors."""

    u: complex
    t: complex
    mirrors: bool

    def point(self, z: complex) -> complex:
        """The image of a point."""
        return self.u * (z.conjugate() if self.mirrors else z) + self.t

    def mark(self, mark: Mark, layers: tuple[int, ...] | None = None) -> Mark:
        """The image of a mark."""
        u = self.u * (mark.u.conjugate() if self.mirrors else mark.u)
        return Mark(mark.cut, self.point(mark.at), u, mark.flip != self.mirrors, layers)


def isometry(motion: Motion) -> Isometry:
    """An exact motion in complex numbers, each part rounded once."""
    w = motion.w
    return Isometry(complex(motion.a / w, motion.c / w), complex(motion.e / w, motion.f / w), motion.turns_over)


def reflection_in(through: complex, along: complex) -> Isometry:
    """The reflection in the line through a point, along a direction (any length)."""
    u = along / along.conjugate()
    return Isometry(u, through - u * through.conjugate(), True)


def half_turn_about(centre: complex) -> Isometry:
    """The half-turn about a point."""
    return Isometry(-1 + 0j, 2 * centre, False)


def merged(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Marks that look the same made one, going through the layers of all."""
    by_key: dict[Key, Mark] = {}
    for mark in marks:
        key = mark.key()
        known = by_key.get(key)
        if known is None:
            by_key[key] = mark
        elif known.layers is not None and mark.layers is not None and known.layers != mark.layers:
            by_key[key] = known._replace(layers=tuple(sorted({*known.layers, *mark.layers})))
    return tuple(by_key.values())


def regions(marks: Sequence[Mark]) -> tuple[shapely.Polygon, ...]:
    """The holes that marks leave on the flat sheet: joined where they meet, rounded alike, in an order of their own.

    The order and the first vertex depend on the region alone, so that neither tells where a hole comes from.
    """
    if all(mark.cut.whole for mark in marks):
        polygons = [mark.region() for mark in marks]
    else:
        union = shapely.union_all([mark.region() for mark in marks], grid_size=GRID)
        polygons = [part for part in shapely.get_parts(union) if part.geom_type == "Polygon"]
    return tidied(polygons)


def tidied(polygons: Iterable[shapely.Polygon]) -> tuple[shapely.Polygon, ...]:
    """Polygons rounded, each ring from its least vertex on (outer rings anticlockwise), in order of their vertices."""
    rings = sorted([_ring(p.exterior, True), *sorted(_ring(i, False) for i in p.interiors)] for p in polygons)
    return tuple(shapely.Polygon(outer, inner) for outer, *inner in rings)


def _ring(ring: shapely.LinearRing, anticlockwise: bool) -> list[tuple[float, float]]:
    xy = (np.asarray(ring.coords)[:-1].round(DECIMALS) + 0.0).tolist()
    points = [(x, y) for x, y in xy]
    if ring.is_ccw != anticlockwise:
        points.reverse()
    first = points.index(min(points))
    return points[first:] + points[:first]


def _xy(z: np.ndarray) -> np.ndarray:
    return np.column_stack([z.real, z.imag])


def _polygon(rings: Sequence[np.ndarray]) -> shapely.Polygon:
    return shapely.Polygon(rings[0], rings[1:])


def unit(degrees: float) -> complex:
    """The unit complex number at an angle, exact for quarter turns."""
    quarters, rest = divmod(degrees % 360, 90)
    if rest == 0:
        return (1 + 0j, 1j, -1 + 0j, -1j)[int(quarters)]
    return complex(np.exp(1j * pi * degrees / 180))


Moving = Callable[[Mark], Mark]
