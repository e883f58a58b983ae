"""Exact plane geometry on integers.

A vertex is a homogeneous triple ``(X, Y, W)`` with W > 0, standing for the point (X/W, Y/W); a line is a triple
``(A, B, C)`` standing for A x + B y + C = 0, positive on one side. Reflections in lines through rational points keep
rational points rational, so nothing here is ever rounded: coordinates become floats once, when they are read out.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd
from typing import NamedTuple

import numpy as np

Point = tuple[Fraction, Fraction]
Vertex = tuple[int, int, int]
Line = tuple[int, int, int]
Polygon = tuple[Vertex, ...]


def vertex(point: Point) -> Vertex:
    """The homogeneous triple of a rational point."""
    (x, p), (y, q) = point[0].as_integer_ratio(), point[1].as_integer_ratio()
    if p == q:
        return (x, y, p)
    w = p * q // gcd(p, q)
    return (x * (w // p), y * (w // q), w)


def point(v: Vertex) -> Point:
    """The rational point of a homogeneous triple."""
    return Fraction(v[0], v[2]), Fraction(v[1], v[2])


def line_through(p: Point, q: Point) -> Line:
    """The line through two distinct rational points, positive to the left of the way from p to q."""
    return reduce_triple(line_of(vertex(p), vertex(q)))


def reduce_triple(t: tuple[int, int, int]) -> tuple[int, int, int]:
    """The same triple without a common factor."""
    g = gcd(*t) or 1
    return (t[0] // g, t[1] // g, t[2] // g)


def side(line: Line, v: Vertex) -> int:
    """Positive, zero or negative as the vertex lies on the positive side, on the line, or beyond it."""
    return line[0] * v[0] + line[1] * v[1] + line[2] * v[2]


def sides(line: Line, polygon: Sequence[Vertex]) -> list[int]:
    """``side`` of every vertex."""
    a, b, c = line
    return [a * x + b * y + c * w for x, y, w in polygon]


def line_of(p: Vertex, q: Vertex) -> Line:
    """The line through two distinct vertices, positive to the left of the way from p to q; not reduced."""
    return (p[1] * q[2] - q[1] * p[2], p[2] * q[0] - q[2] * p[0], p[0] * q[1] - q[0] * p[1])


def crossing(p: Vertex, q: Vertex, p_side: int, q_side: int) -> Vertex:
    """Where segment pq meets the line to which p and q lie at ``p_side`` and ``q_side`` (of opposite signs)."""
    px, py, pw = p
    qx, qy, qw = q
    x, y, w = q_side * px - p_side * qx, q_side * py - p_side * qy, q_side * pw - p_side * qw
    g = gcd(x, y, w) if w > 0 else -gcd(x, y, w)
    return (x // g, y // g, w // g)


class Motion(NamedTuple):
    """An exact isometry of the plane: x' = (a x + b y + e) / w and y' = (c x + d y + f) / w, with w > 0."""

    a: int
    b: int
    c: int
    d: int
    e: int
    f: int
    w: int

    def __matmul__(self, other: Motion) -> Motion:
        """The motion that does ``other`` first and then this one."""
        a, b, c, d, e, f, w = self
        p, q, r, s, t, u, v = other
        return reduced_motion(
            a * p + b * r,
            a * q + b * s,
            c * p + d * r,
            c * q + d * s,
            a * t + b * u + e * v,
            c * t + d * u + f * v,
            w * v,
        )

    def __invert__(self) -> Motion:
        """The motion that undoes this one. An isometry's linear part is undone by its transpose."""
        a, b, c, d, e, f, w = self
        return reduced_motion(a * w, c * w, b * w, d * w, -(a * e + c * f), -(b * e + d * f), w * w)

    @property
    def turns_over(self) -> bool:
        """True when the motion reverses orientation, so that the other side of the paper shows."""
        return self.a * self.d < self.b * self.c

    def carry(self, v: Vertex) -> Vertex:
        """The image of a vertex."""
        x, y, w = v
        a, b, c, d, e, f, unit = self
        return reduce_triple((a * x + b * y + e * w, c * x + d * y + f * w, unit * w))

    def carry_point(self, p: Point) -> Point:
        """The image of a rational point."""
        return point(self.carry(vertex(p)))

    def pull_back(self, line: Line) -> Line:
        """The line that this motion carries onto ``line``, positive on the matching side."""
        p, q, r = line
        a, b, c, d, e, f, w = self
        return (p * a + q * c, p * b + q * d, p * e + q * f + r * w)

    def rows(self) -> tuple[float, float, float, float, float, float]:
        """The two rows (a b e) and (c d f) of the motion as floats, each rounded once."""
        a, b, c, d, e, f, w = self
        return (a / w, b / w, e / w, c / w, d / w, f / w)

    def matrix(self) -> np.ndarray:
        """The motion as a 2 x 3 array of floats."""
        return np.array(self.rows()).reshape(2, 3)

    def carry_xy(self, xy: np.ndarray) -> np.ndarray:
        """The images of points given as an N x 2 array of floats."""
        m = self.matrix()
        return xy @ m[:, :2].T + m[:, 2]


def reduced_motion(a: int, b: int, c: int, d: int, e: int, f: int, w: int) -> Motion:
    """A motion without a common factor in its numbers."""
    g = gcd(a, b, c, d, e, f, w)
    if g == 1:
        return Motion(a, b, c, d, e, f, w)
    return Motion(a // g, b // g, c // g, d // g, e // g, f // g, w // g)


IDENTITY = Motion(1, 0, 0, 1, 0, 0, 1)


def reflection(line: Line) -> Motion:
    """The reflection in a line: (x, y) goes to (x, y) - 2 (A x + B y + C) (A, B) / (A^2 + B^2)."""
    a, b, c = line
    s = a * a + b * b
    return reduced_motion(s - 2 * a * a, -2 * a * b, -2 * a * b, s - 2 * b * b, -2 * a * c, -2 * b * c, s)


def to_xy(polygon: Sequence[Vertex]) -> np.ndarray:
    """The polygon's vertices as an N x 2 array of floats, each rounded once."""
    return np.array([(x / w, y / w) for x, y, w in polygon], dtype=float)


def twice_area(polygon: Sequence[Vertex]) -> Fraction:
    """Twice the signed area, exactly: positive when the vertices run anticlockwise."""
    points = [point(v) for v in polygon]
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return sum((p[0] * q[1] - q[0] * p[1] for p, q in pairs), Fraction(0))


def covers(polygon: Sequence[Vertex], v: Vertex) -> bool:
    """True when the vertex lies in the polygon or on its rim (any simple polygon, anticlockwise)."""
    inside = False
    _, y, w = v
    p = polygon[-1]
    for q in polygon:
        edge = cross(p, q, v)
        p_y, q_y, v_yp, v_yq = p[1] * w, q[1] * w, y * p[2], y * q[2]
        if edge == 0 and between(p, q, v):
            return True
        if (p_y > v_yp) != (q_y > v_yq) and (edge > 0) == (q_y * p[2] > p_y * q[2]):
            inside = not inside
        p = q
    return inside


def cross(p: Vertex, q: Vertex, r: Vertex) -> int:
    """Positive when p, q, r turn left, zero when they lie on one line, negative when they turn right."""
    return p[0] * (q[1] * r[2] - r[1] * q[2]) - p[1] * (q[0] * r[2] - r[0] * q[2]) + p[2] * (q[0] * r[1] - r[0] * q[1])


def between(p: Vertex, q: Vertex, v: Vertex) -> bool:
    """True when v, known to lie on the line pq, lies on the closed segment pq."""
    for i in (0, 1):
        low, high = sorted((Fraction(p[i], p[2]), Fraction(q[i], q[2])))
        if not low <= Fraction(v[i], v[2]) <= high:
            return False
    return True
