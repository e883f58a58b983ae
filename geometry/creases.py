"""Creases: the line that a fold names, which side of it moves, and the reflection that moves it."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.errors import CreaseError, NothingMovesError
from geometry.kept import kept
from geometry.plane import Line, Motion, Point, line_of, reduce_triple, reflection, side, vertex
from geometry.spec import Fold, Way


@dataclass(eq=False)
class Crease:
    """A fold's crease in the plane of the paper as it lay before the fold. Never changed once made.

    ``line`` is positive on the side that moves. ``grip`` is the point taken hold of and ``landing`` where it comes to.
    """

    number: int
    fold: Fold
    line: Line

    @property
    def way(self) -> Way:
        return self.fold.way

    @property
    def layers(self) -> int | None:
        return self.fold.layers

    @property
    def grip(self) -> Point:
        grip = self.fold.moves if self.fold.crease else self.fold.bring
        assert grip is not None
        return grip

    @kept
    def motion(self) -> Motion:
        """The reflection that the moving paper undergoes."""
        return reflection(self.line)

    @property
    def landing(self) -> Point:
        return self.motion.carry_point(self.grip)

    @property
    def points(self) -> tuple[Point, Point]:
        """Two points of the line: those the fold names, or for a point brought to another the middle and one beside."""
        if self.fold.crease is not None:
            return self.fold.crease
        (px, py), (qx, qy) = self.grip, self.landing
        middle = ((px + qx) / 2, (py + qy) / 2)
        return middle, (middle[0] + py - qy, middle[1] + qx - px)

    @property
    def a(self) -> Point:
        return self.points[0]

    @property
    def b(self) -> Point:
        return self.points[1]

    def moves(self, p: Point) -> bool:
        """True when the point lies strictly on the side that moves."""
        return side(self.line, vertex(p)) > 0


def crease_of(fold: Fold, number: int) -> Crease:
    """The crease that a fold names. Raises a ``FoldError`` when it names no line or no side."""
    if fold.crease is not None and fold.moves is not None:
        line = _through(*fold.crease, fold.moves, number)
    else:
        assert fold.bring is not None
        assert fold.to is not None
        line = _between(fold.bring, fold.to, number)
    return Crease(number, fold, line)


def _through(p: Point, q: Point, grip: Point, number: int) -> Line:
    """The line through two points, positive on the side of a third."""
    if p == q:
        raise CreaseError(f"Fold {number}: the crease needs two different points.", fold=number, value=p)
    a, b, c = reduce_triple(line_of(vertex(p), vertex(q)))
    height = side((a, b, c), vertex(grip))
    if height == 0:
        raise NothingMovesError(
            f"Fold {number}: the point that moves lies on the crease itself.", fold=number, value=grip
        )
    return (a, b, c) if height > 0 else (-a, -b, -c)


def _between(p: Point, q: Point, number: int) -> Line:
    """The perpendicular bisector of two points, positive on the side of the first (axiom O2): bringing P to Q."""
    if p == q:
        raise CreaseError(f"Fold {number} brings a point to where it already is.", fold=number, value=p)
    (px, py, pw), (qx, qy, qw) = vertex(p), vertex(q)
    px, py, qx, qy, w = px * qw, py * qw, qx * pw, qy * pw, pw * qw
    x, y = px - qx, py - qy
    return reduce_triple((2 * w * x, 2 * w * y, -(x * (px + qx) + y * (py + qy))))
