"""A spec turned or mirrored with its sheet, exactly: the same question as it looks from another side of the table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import product

from geometry.plane import IDENTITY, Motion, Point, point, reduced_motion
from geometry.shapes import SHAPES
from geometry.spec import Fold, Punch, Sheet, Spec

_TURNS = {(1, 0): 0, (0, 1): 90, (-1, 0): 180, (0, -1): 270}  # where a turn carries (1, 0), and its degrees
_MIRRORS = {(1, 0): 0, (0, 1): 45, (-1, 0): 90, (0, -1): 135}  # where a mirroring does, and the mirror line's direction
_OWN_AXIS = 90  # of an outline mirrored from left to right


@lru_cache(maxsize=64)
def exact_symmetries(sheet: Sheet) -> tuple[Motion, ...]:
    """The quarter turns and mirrorings that carry the sheet onto itself exactly, the one that does nothing first."""
    corners = {point(v) for v in sheet.outline}
    found = [motion for motion in _candidates(corners) if {motion.carry_point(p) for p in corners} == corners]
    return (IDENTITY, *(motion for motion in found if motion != IDENTITY))


def _candidates(corners: set[Point]) -> Iterator[Motion]:
    """The eight symmetries of a square, about the middle of the sheet's bounds."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    w = x.denominator * y.denominator
    for flip, (a, c) in product((1, -1), _TURNS):
        e, f = (x - a * x + flip * c * y) * w, (y - c * x - flip * a * y) * w
        yield reduced_motion(a * w, c * w, int(e), int(f), w, flip)


def turned_spec(spec: Spec, motion: Motion) -> Spec | None:
    """The spec carried along by a symmetry of its sheet; None when that would mirror a shape that no punch shows so."""
    punches = [turned_punch(punch, motion) for punch in spec.punches]
    if any(punch is None for punch in punches):
        return None
    folds = tuple(_fold(fold, motion) for fold in spec.folds)
    return Spec(spec.sheet, folds, tuple(punch for punch in punches if punch is not None))


def _fold(fold: Fold, motion: Motion) -> Fold:
    def carried(p: Point | None) -> Point | None:
        return motion.carry_point(p) if p is not None else None

    crease = (motion.carry_point(fold.crease[0]), motion.carry_point(fold.crease[1])) if fold.crease else None
    return replace(fold, crease=crease, moves=carried(fold.moves), bring=carried(fold.bring), to=carried(fold.to))


def turned_punch(punch: Punch, motion: Motion) -> Punch | None:
    """A punch carried along; None for a shape that no punch shows mirrored."""
    right = (motion.a // motion.w, motion.c // motion.w)
    at = motion.carry_point(punch.at)
    if not motion.turns_over:
        return replace(punch, at=at, turn=(punch.turn + _TURNS[right]) % 360)
    if punch.shape == "outline":
        axis, points = Fraction(_OWN_AXIS), tuple((-x, y) for x, y in punch.points)
    elif SHAPES[punch.shape].axes:
        axis, points = Fraction(SHAPES[punch.shape].axes[0]), ()
    else:
        return None
    return replace(punch, at=at, turn=(2 * (_MIRRORS[right] - axis) - punch.turn) % 360, points=points)
