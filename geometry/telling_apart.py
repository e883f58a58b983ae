"""Whether two pictures differ so that an eye sees it.

Holes that look exactly alike are struck out first, by key. Of those left, some hole must have no counterpart: none of
its shape within a twelfth of the sheet (2.5 mm in a picture 30 mm wide) or three quarters of its size, turned so little
that the outlines differ by less than 0.35 of its area. Area alone misleads: a star turned by 36 degrees differs by 0.86
of its area and looks the same; so turning counts only for shapes whose turning is seen, in holes of a tenth or more.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import atan2, pi

import shapely

from geometry.folding import GRID
from geometry.marks import Cut, Key, Mark, unit
from geometry.shapes import SHAPES

NEAR = 1 / 12 + 1e-6  # sheet widths; just this far is not far enough
NEAR_SIZES = 3 / 4
TURNED = 0.35  # of a hole's area
READABLE = 0.1 - 1e-9  # holes of this size show their turn

Keyed = tuple[frozenset[Key], dict[Key, Mark]]


def are_apart(first: Keyed, second: Keyed) -> bool:
    """True when the two pictures differ visibly, each given as its holes by their keys."""
    (first_keys, first_marks), (second_keys, second_marks) = first, second
    if len(first_keys) != len(second_keys):
        return True  # once equal holes are struck out, some hole has no counterpart
    only_first = [first_marks[key] for key in first_keys - second_keys]
    only_second = [second_marks[key] for key in second_keys - first_keys]
    return any(_stands_alone(mark, only_second) for mark in only_first) or any(
        _stands_alone(mark, only_first) for mark in only_second
    )


def _stands_alone(mark: Mark, others: Sequence[Mark]) -> bool:
    return not any(alike(mark, other) for other in others)


def farthest_alike(size: float) -> float:
    """How near a hole another must lie to be taken for it."""
    return max(NEAR, NEAR_SIZES * size)


def alike(mark: Mark, other: Mark) -> bool:
    """True when one hole could be taken for the other: near it, of its shape, and hardly turned."""
    if abs(mark.at - other.at) >= farthest_alike(mark.cut.size):
        return False
    if mark.cut.name == other.cut.name:
        return not looks_turned(mark, other)
    return not shapes_differ(mark, other)


def shapes_differ(mark: Mark, other: Mark) -> bool:
    """True when two holes of different cuts, laid on one another, differ by much of their area."""
    shapes = [m.cut.name.rpartition(" ")[0] for m in (mark, other)]
    if not all(shape in SHAPES for shape in shapes):
        return _differs(mark.region(), other.region())
    u = mark.u * other.u.conjugate() if mark.flip else mark.u.conjugate() * other.u
    degrees = round(atan2(u.imag, u.real) * 180 / pi, 3)
    return _shapes_differ(
        shapes[0], shapes[1], round(other.cut.size / mark.cut.size, 6), degrees, mark.flip != other.flip
    )


@lru_cache(maxsize=1024)
def _shapes_differ(shape: str, other: str, size: float, degrees: float, flipped: bool) -> bool:
    """The same for two shapes of the list, the second so many times as large, turned and turned over."""
    return _differs(_drawn(shape).polygon, Mark(_drawn(other, size), 0j, unit(degrees), flipped).region())


def looks_turned(mark: Mark, other: Mark) -> bool:
    """True when two holes of one cut are visibly turned (or turned over) against each other."""
    cut = mark.cut
    if not cut.shows_turning or cut.size < READABLE:
        return False
    (u, u_flip), (v, v_flip) = mark.look(), other.look()
    between = u * v.conjugate() if u_flip else v * u.conjugate()
    degrees = atan2(between.imag, between.real) * 180 / pi / cut.rotations
    return turn_seen(cut.name.rpartition(" ")[0], round(degrees, 3), u_flip != v_flip, cut)


def turn_seen(shape: str, degrees: float, flipped: bool, cut: Cut) -> bool:
    """True when a shape differs by 0.35 of its area from itself turned (and turned over)."""
    if shape in SHAPES:
        return _turn_of_shape(shape, degrees, flipped)
    return _differs(cut.polygon, Mark(cut, 0j, unit(degrees), flipped).region())


@lru_cache(maxsize=1024)
def _turn_of_shape(shape: str, degrees: float, flipped: bool) -> bool:
    cut = _drawn(shape)
    return _differs(cut.polygon, Mark(cut, 0j, unit(degrees), flipped).region())


def _drawn(shape: str, size: float = 1) -> Cut:
    outline = SHAPES[shape].outline * size
    return Cut(shape, shape, (outline[:, 0] + 1j * outline[:, 1],), size)


def _differs(p: shapely.Polygon, q: shapely.Polygon) -> bool:
    """True when the regions, laid on one another by centroids, differ by 0.35 of the larger one's area or more."""
    between = shapely.get_coordinates(p.centroid) - shapely.get_coordinates(q.centroid)
    laid = shapely.transform(q, lambda xy: xy + between)
    both = shapely.symmetric_difference(p, laid, grid_size=GRID)
    return both.area >= TURNED * max(p.area, q.area)
