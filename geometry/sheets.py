"""Sheets of paper: a simple polygon with rational vertices, anticlockwise."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from math import cos, pi, sin

import numpy as np

from geometry.errors import SpecError
from geometry.plane import Point, Polygon, Vertex, between, cross, to_xy, twice_area, vertex

DISC_VERTICES = 96
GRAIN = 10**6  # regular sheets have irrational vertices: rounded once, to millionths of a width

NEAR = 1e-9  # widths: edges that come closer may meet

KINDS = ("square", "rectangle", "triangle", "hexagon", "disc", "polygon")


def outline(kind: str, *, width: Fraction, height: Fraction, points: Sequence[Point]) -> Polygon:
    """The sheet's vertices. Regular sheets are 1 wide, their lower left bound at the origin."""
    if kind == "polygon":
        return _checked(points)
    if kind == "rectangle":
        zero = Fraction(0)
        corners = [(zero, zero), (width, zero), (width, height), (zero, height)]
        return tuple([vertex(p) for p in corners])
    return _regular(kind)


@cache
def _regular(kind: str) -> Polygon:
    return tuple([vertex(p) for p in _regular_corners(kind)])


def _regular_corners(kind: str) -> list[Point]:
    zero, one, half = Fraction(0), Fraction(1), Fraction(1, 2)
    if kind == "square":
        return [(zero, zero), (one, zero), (one, one), (zero, one)]
    root = _grain(3**0.5 / 2)
    if kind == "triangle":
        return [(zero, zero), (one, zero), (half, root)]
    if kind == "hexagon":
        quarter = Fraction(1, 4)
        return [
            (quarter, zero), (1 - quarter, zero), (one, root / 2),
            (1 - quarter, root), (quarter, root), (zero, root / 2),
        ]  # fmt: skip
    turns = [2 * pi * i / DISC_VERTICES for i in range(DISC_VERTICES)]
    return [(half + _grain(cos(t) / 2), half + _grain(sin(t) / 2)) for t in turns]


def _grain(value: float) -> Fraction:
    return Fraction(round(value * GRAIN), GRAIN)


def _checked(points: Sequence[Point]) -> Polygon:
    """A polygon's vertices made anticlockwise, or an error that says what is wrong with it."""
    ring = tuple(vertex(p) for p in points)
    if len(ring) < 3:
        raise SpecError("A polygon sheet needs at least three points.")
    if len(set(ring)) < len(ring):
        raise SpecError("A polygon sheet has the same point twice.")
    if crossed := _crossing_edges(ring):
        raise SpecError(f"The polygon sheet's outline crosses or touches itself (edges {crossed[0]} and {crossed[1]}).")
    area = twice_area(ring)
    if area == 0:
        raise SpecError("The polygon sheet has no area.")
    return ring if area > 0 else ring[::-1]


def _crossing_edges(ring: Polygon) -> tuple[int, int] | None:
    """The numbers (from 1) of two edges that meet where they should not."""
    n = len(ring)
    for i, j in _close_edges(ring):
        if j == i + 1 or (i == 0 and j == n - 1):
            shared, before, after = (
                (ring[j], ring[i], ring[(j + 1) % n]) if j == i + 1 else (ring[0], ring[-1], ring[1])
            )
            if cross(before, shared, after) == 0 and _doubles_back(before, shared, after):
                return i + 1, j + 1
        elif _meet(ring[i], ring[(i + 1) % n], ring[j], ring[(j + 1) % n]):
            return i + 1, j + 1
    return None


def _close_edges(ring: Polygon) -> list[list[int]]:
    """The pairs of edges whose bounds meet: only these are looked at exactly."""
    xy = to_xy(ring)
    ends = np.stack([xy, np.roll(xy, -1, axis=0)])
    low, high = ends.min(axis=0) - NEAR, ends.max(axis=0) + NEAR
    meeting = ((low[:, None] <= high) & (low <= high[:, None])).all(axis=2)
    return np.argwhere(np.triu(meeting, 1)).tolist()


def _doubles_back(before: Vertex, shared: Vertex, after: Vertex) -> bool:
    """True when the edge out of ``shared`` runs back along the edge into it."""
    (bx, by), (sx, sy), (ax, ay) = ((Fraction(v[0], v[2]), Fraction(v[1], v[2])) for v in (before, shared, after))
    return (sx - bx) * (ax - sx) + (sy - by) * (ay - sy) < 0


def _meet(a: Vertex, b: Vertex, c: Vertex, d: Vertex) -> bool:
    """True when the closed segments ab and cd have a point in common."""

    def sign(value: int) -> int:
        return (value > 0) - (value < 0)

    abc, abd, cda, cdb = (sign(cross(*t)) for t in ((a, b, c), (a, b, d), (c, d, a), (c, d, b)))
    if abc != abd and cda != cdb:
        return True
    return any(
        s == 0 and between(p, q, v) for s, p, q, v in ((abc, a, b, c), (abd, a, b, d), (cda, c, d, a), (cdb, c, d, b))
    )
