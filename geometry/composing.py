"""Making up questions: folds that a hand would make, and places where a punch is clear of every edge.

A fold is chosen on the paper as it lies: halves, thirds and quarters of its bounds, diagonals through its corners and
middles, slanting lines of simple slopes. Everything drawn comes from the random generator handed in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from random import Random

from geometry.errors import FoldError
from geometry.folding import Folded, fold_sheet
from geometry.openings import Paper
from geometry.plane import Point, point
from geometry.shapes import SHAPES
from geometry.spec import Fold, Punch, Sheet, Spec

CREASES = ("straight", "diagonal", "oblique")
CLEARANCE = 1 / 30  # sheet widths, a millimetre in print, between a hole and any edge or crease
GRID = 24  # punches stand on twenty-fourths of the sheet
SIZES = {1: Fraction(1, 8), 2: Fraction(1, 8), 3: Fraction(1, 10), 4: Fraction(1, 10)}  # by number of folds
APART = 1.25  # sizes between the centres of two punches, at least
SQUARE = Sheet()

_HALF = Fraction(1, 2)
_SHARES = (_HALF, _HALF, _HALF, Fraction(1, 3), Fraction(2, 3), Fraction(1, 4), Fraction(3, 4))
_SLOPES = ((2, 1), (1, 2), (-2, 1), (-1, 2), (3, 1), (1, 3), (-3, 1), (-1, 3))

Bounds = tuple[Fraction, Fraction, Fraction, Fraction]


@dataclass(frozen=True)
class Wishes:
    """What is asked for: how many folds and punches (least and most), which creases and shapes, flaps or not."""

    folds: tuple[int, int] = (2, 3)
    punches: tuple[int, int] = (1, 2)
    creases: tuple[str, ...] = CREASES
    shapes: tuple[str, ...] = tuple(SHAPES)
    flaps: bool = False


def compose(rng: Random, wishes: Wishes) -> Spec | None:
    """A question drawn at random, or None when the draw came to nothing (the caller draws again)."""
    folded = draw_folds(rng, wishes)
    if folded is None:
        return None
    folds, paper = folded
    punches = draw_punches(rng, wishes, paper)
    return Spec(SQUARE, folds, punches) if punches else None


def draw_folds(rng: Random, wishes: Wishes) -> tuple[tuple[Fold, ...], Paper] | None:
    """A sequence of folds and the folded paper."""
    folds: tuple[Fold, ...] = ()
    for _ in range(rng.randint(*wishes.folds)):
        slanting = any(_kind_of(fold) == "oblique" for fold in folds)
        allowed = [kind for kind in wishes.creases if kind != "oblique" or not slanting] or list(wishes.creases)
        drawn = draw_fold(rng, _bounds(folds), rng.choice(allowed))
        if drawn is None or paper_of(folds := (*folds, drawn)) is None:
            return None
    paper = paper_of(folds)
    return (folds, paper) if paper is not None else None


def draw_fold(rng: Random, bounds: Bounds, kind: str) -> Fold | None:
    """A fold of one kind of crease on paper with the given bounds; the smaller side of the bounds moves."""
    x0, y0, x1, y1 = bounds
    width, height = x1 - x0, y1 - y0
    share = rng.choice(_SHARES)
    if kind == "straight":
        upright = rng.random() < 0.5
        a = (x0 + width * share, y0) if upright else (x0, y0 + height * share)
        direction = (0, 1) if upright else (1, 0)
    elif kind == "diagonal":
        a = _knot(rng, bounds)
        direction = (1, 1) if rng.random() < 0.5 else (1, -1)
    else:
        a = _knot(rng, bounds)
        direction = rng.choice(_SLOPES)
    return _fold_along(rng, a, direction, bounds)


def _knot(rng: Random, bounds: Bounds) -> Point:
    """A corner, a middle of a side, or the middle of the bounds."""
    x0, y0, x1, y1 = bounds
    return rng.choice((x0, (x0 + x1) / 2, x1)), rng.choice((y0, (y0 + y1) / 2, y1))


def _fold_along(rng: Random, a: Point, direction: tuple[int, int], bounds: Bounds) -> Fold | None:
    """The fold in a line, the side of the bounds that reaches less far moving; None when the line misses the bounds."""
    dx, dy = direction
    b = (a[0] + Fraction(dx, 4), a[1] + Fraction(dy, 4))
    x0, y0, x1, y1 = bounds
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    heights = [dx * (y - a[1]) - dy * (x - a[0]) for x, y in corners]
    high, low = max(heights), min(heights)
    if high <= 0 or low >= 0:
        return None
    up = high < -low or (high == -low and rng.random() < 0.5)
    return Fold(crease=(a, b), moves=corners[heights.index(high if up else low)])


def _kind_of(fold: Fold) -> str:
    """Which of ``CREASES`` a fold is."""
    assert fold.crease is not None
    (ax, ay), (bx, by) = fold.crease
    dx, dy = bx - ax, by - ay
    if dx == 0 or dy == 0:
        return "straight"
    return "diagonal" if abs(dx) == abs(dy) else "oblique"


@lru_cache(maxsize=512)
def paper_of(folds: tuple[Fold, ...]) -> Paper | None:
    """The square folded, or None when paper cannot be folded so. The latest are kept: sister questions share them."""
    try:
        return Paper(fold_sheet(SQUARE, folds))
    except FoldError:
        return None


def _bounds(folds: tuple[Fold, ...]) -> Bounds:
    """The exact bounds of the folded paper."""
    paper = paper_of(folds)
    assert paper is not None
    return exact_bounds(paper.folded)


def exact_bounds(folded: Folded) -> Bounds:
    """The exact bounds of the folded paper: least x and y, greatest x and y."""
    points = [point(v) for face in folded.states[-1].faces for v in face.folded]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def draw_punches(rng: Random, wishes: Wishes, paper: Paper) -> tuple[Punch, ...]:
    """Punches clear of every edge and of each other, through two layers at least; none when there is no room."""
    size = SIZES.get(paper.count, Fraction(1, 12))
    places = list(clear_places(paper, float(size)))
    rng.shuffle(places)
    drawn: list[Punch] = []
    for _ in range(rng.randint(*wishes.punches)):
        free = next((p for p in places if all(_far(p, q.at, size) for q in drawn)), None)
        if free is None:
            return ()
        drawn.append(Punch(rng.choice(wishes.shapes), free, size, Fraction(rng.choice((0, 90, 180, 270)))))
    return tuple(drawn)


def _far(p: Point, q: Point, size: Fraction) -> bool:
    return (p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 >= (size * Fraction(APART)) ** 2


def clear_places(paper: Paper, size: float, *, layers: int = 2) -> Iterator[Point]:
    """The points of the grid where a punch goes through ``layers`` layers or more, clear of every edge of each."""
    reach = size / 2 + CLEARANCE
    x0, y0, x1, y1 = paper.bounds(paper.count)
    stack = paper.layers(paper.count)
    for i in range(int(x0 * GRID), int(x1 * GRID) + 1):
        for j in range(int(y0 * GRID), int(y1 * GRID) + 1):
            at = complex(i / GRID, j / GRID)
            depths = [layer.depth(at) for layer in stack]
            if all(abs(depth) >= reach for depth in depths) and sum(depth > 0 for depth in depths) >= layers:
                yield Fraction(i, GRID), Fraction(j, GRID)
