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
    """An exact isometry: z = x + iy goes to (A z + B) / w, or where ``flip`` is -1 to (A z* + B) / w, z* = x - iy.

    A is a + ic and B is e + if, w > 0; |A| = w, since distances stay. Without a common factor (``reduced_motion``), so
    that equal motions have equal numbers.
    """

    a: int
    c: int
    e: int
    f: int
    w: int
    flip: int

    def __matmul__(self, other: Motion) -> Motion:
        """The motion that does ``other`` first and then this one."""
        a, c, e, f, w, flip = self
        p, q, r, s, v, other_flip = other
        d = flip * a
        b = -flip * c
        return reduced_motion(
            a * p + b * q, c * p + d * q, a * r + b * s + e * v, c * r + d * s + f * v, w * v, flip * other_flip
        )

    def __invert__(self) -> Motion:
        """The motion that undoes this one."""
        a, c, e, f, w, flip = self
        return reduced_motion(a * w, -flip * c * w, -(a * e + c * f), flip * (c * e - a * f), w * w, flip)

    @property
    def turns_over(self) -> bool:
        """True when the motion reverses orientation, so that the other side of the paper shows."""
        return self.flip < 0

    @property
    def linear(self) -> tuple[tuple[Fraction, Fraction], tuple[Fraction, Fraction]]:
        """The rows of the orthogonal matrix that turns and mirrors."""
        a, c = Fraction(self.a, self.w), Fraction(self.c, self.w)
        return (a, -self.flip * c), (c, self.flip * a)

    def carry(self, v: Vertex) -> Vertex:
        """The image of a vertex."""
        x, y, w = v
        a, c, e, f, unit, flip = self
        y *= flip
        return reduce_triple((a * x - c * y + e * w, c * x + a * y + f * w, unit * w))

    def carry_point(self, p: Point) -> Point:
        """The image of a rational point."""
        return point(self.carry(vertex(p)))

    def pull_back(self, line: Line) -> Line:
        """The line that this motion carries onto ``line``, positive on the matching side."""
        p, q, r = line
        a, c, e, f, w, flip = self
        return (p * a + q * c, flip * (q * a - p * c), p * e + q * f + r * w)

    def matrix(self) -> np.ndarray:
        """The motion as a 2 x 3 array of floats, each rounded once."""
        a, c, e, f, w, flip = self
        return np.array([[a / w, -flip * c / w, e / w], [c / w, flip * a / w, f / w]])

    def carry_xy(self, xy: np.ndarray) -> np.ndarray:
        """The images of points given as an N x 2 array of floats."""
        m = self.matrix()
        return xy @ m[:, :2].T + m[:, 2]


def reduced_motion(a: int, c: int, e: int, f: int, w: int, flip: int) -> Motion:
    """A motion without a common factor in its numbers."""
    g = gcd(a, c, e, f, w)
    # made as a tuple, since this is called for every layer and fold
    return tuple.__new__(Motion, (a // g, c // g, e // g, f // g, w // g, flip) if g > 1 else (a, c, e, f, w, flip))


IDENTITY = Motion(1, 0, 0, 0, 1, 1)


def reflection(line: Line) -> Motion:
    """The reflection in a line: with N = A + iB, z goes to -(N N z* + 2 C N) / |N|^2."""
    a, b, c = line
    return reduced_motion(b * b - a * a, -2 * a * b, -2 * a * c, -2 * b * c, a * a + b * b, -1)


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
