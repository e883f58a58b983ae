"""Creases that a hand would make, and paper folded along them, kept so that sister questions share it.

A crease here is a line with the side that moves (positive, as in ``folding.Crease``); where it is gripped follows from
the paper as it lies: at the corner that moves farthest.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache, lru_cache
from itertools import product
from math import hypot
from typing import NamedTuple

from geometry.errors import FoldError
from geometry.folding import Face, State, fold_sheet
from geometry.marks import Isometry, isometry
from geometry.openings import Paper
from geometry.plane import Line, Point, crossing, line_through, point, reflection, side
from geometry.spec import Fold, Sheet, Way

SQUARE = Sheet()
KEPT = 400  # folded papers kept: bounded, so that memory stays flat however many questions are made

STRAIGHT, DIAGONAL, OBLIQUE = CREASES = ("straight", "diagonal", "oblique")
_SHARES = tuple(Fraction(*f) for f in ((1, 4), (1, 3), (3, 8), (5, 12), (1, 2), (7, 12), (5, 8), (2, 3), (3, 4)))
_QUARTERS = tuple(Fraction(i, 4) for i in range(5))
_SLOPES = ((2, 1), (1, 2), (-2, 1), (-1, 2))


class Bend(NamedTuple):
    """A fold to be made: its line, positive on the side that moves; how many layers (None for all); which way."""

    line: Line
    layers: int | None = None
    way: Way = "over"

    @property
    def other_way(self) -> Bend:
        """The same line, the other side moving."""
        a, b, c = self.line
        return Bend((-a, -b, -c), self.layers, self.way)


@cache
def natural_lines(kind: str) -> tuple[Line, ...]:
    """Lines across the square that a hand folds easily: halves, thirds, quarters; diagonals; simple slopes."""
    if kind == STRAIGHT:
        found = [line_through((s, Fraction(0)), (s, Fraction(1))) for s in _SHARES]
        found += [line_through((Fraction(0), s), (Fraction(1), s)) for s in _SHARES]
    else:
        slopes = ((1, 1), (1, -1)) if kind == DIAGONAL else _SLOPES
        knots = product(_QUARTERS, repeat=2)
        found = [line_through((x, y), (x + dx, y + dy)) for x, y in knots for dx, dy in slopes]
    return tuple(sorted({unsigned(line) for line in found if _crosses_square(line)}))


def unsigned(line: Line) -> Line:
    """The line with its sides in a fixed order, so that equal lines are equal."""
    return line if line > (0, 0, 0) else (-line[0], -line[1], -line[2])


def _crosses_square(line: Line) -> bool:
    """True when an eighth of the square or more lies beyond the line on either side, measured across it."""
    a, b, c = line
    heights = [a * x + b * y + c for x, y in product((0, 1), repeat=2)]
    return min(max(heights), -min(heights)) / hypot(a, b) >= 1 / 8


def kind_of(line: Line) -> str:
    """Which of ``CREASES`` a line is."""
    a, b, _ = line
    if a == 0 or b == 0:
        return STRAIGHT
    return DIAGONAL if abs(a) == abs(b) else OBLIQUE


@lru_cache(maxsize=KEPT)
def mirror_of(line: Line) -> Isometry:
    """The reflection in a line, in complex numbers."""
    return isometry(reflection(line))


def height(line: Line, z: complex) -> float:
    """How far a point lies on the positive side of a line."""
    a, b, c = line
    return (a * z.real + b * z.imag + c) / hypot(a, b)


@lru_cache(maxsize=KEPT)
def paper_of(bends: tuple[Bend, ...]) -> Paper | None:
    """The square with folds made in it, or None when paper cannot be folded so."""
    folds = folds_of(bends)
    if folds is None:
        return None
    try:
        return Paper(fold_sheet(SQUARE, folds))
    except FoldError:
        return None


@lru_cache(maxsize=KEPT)
def folds_of(bends: tuple[Bend, ...]) -> tuple[Fold, ...] | None:
    """The folds as a spec writes them: creases from end to end of the paper, gripped at the corner that moves farthest.

    None when a fold on the way cannot be made.
    """
    if not bends:
        return ()
    before, paper = folds_of(bends[:-1]), paper_of(bends[:-1])
    if before is None or paper is None:
        return None
    fold = _fold(paper.folded.states[-1], bends[-1])
    return (*before, fold) if fold is not None else None


def _fold(state: State, bend: Bend) -> Fold | None:
    faces = state.faces
    if bend.layers is not None:
        faces = faces[-1:] if bend.way == "over" else faces[:1]
    corners = [v for face in faces for v in face.folded]
    grip = max(corners, key=lambda v: (Fraction(side(bend.line, v), v[2]), point(v)))
    ends = sorted(_ends(faces, bend.line))
    if side(bend.line, grip) <= 0 or len(ends) < 2 or ends[0] == ends[-1]:
        return None
    return Fold(crease=(ends[0], ends[-1]), moves=point(grip), way=bend.way, layers=bend.layers)


def _ends(faces: tuple[Face, ...], line: Line) -> Iterator[Point]:
    """Where a line crosses the rims of faces."""
    for face in faces:
        ring = face.folded
        for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
            p_side, q_side = side(line, p), side(line, q)
            if p_side == 0:
                yield point(p)
            elif p_side * q_side < 0:
                yield point(crossing(p, q, p_side, q_side))
