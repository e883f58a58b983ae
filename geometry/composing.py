"""Making up a question: folds that a hand would make, and punches clear of every edge.

A fold is chosen on the paper as it lies: halves, thirds and quarters of its bounds, diagonals through its corners and
middles, slanting lines of simple slopes. Everything drawn comes from the random generator handed in.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random

from geometry.creasing import DIAGONAL, OBLIQUE, SQUARE, STRAIGHT, Bend, folds_of, kind_of, paper_of
from geometry.openings import Paper
from geometry.places import APART, CLEARANCE, STEPS
from geometry.plane import Line, Point, line_through, point
from geometry.spec import Punch, Spec
from geometry.wishes import Wishes

_HALF = Fraction(1, 2)
_SHARES = (_HALF, _HALF, _HALF, Fraction(1, 3), Fraction(2, 3), Fraction(1, 4), Fraction(3, 4))
_SLOPES = {
    STRAIGHT: ((1, 0), (0, 1)),
    DIAGONAL: ((1, 1), (1, -1)),
    OBLIQUE: ((2, 1), (1, 2), (-2, 1), (-1, 2)),
}

Bounds = tuple[Fraction, Fraction, Fraction, Fraction]  # least x and y, greatest x and y


def compose(rng: Random, wishes: Wishes) -> Spec | None:
    """A question drawn at random, or None when the draw came to nothing (the caller draws again)."""
    bends = draw_bends(rng, wishes)
    folds, paper = (folds_of(bends), paper_of(bends)) if bends else (None, None)
    if folds is None or paper is None:
        return None
    punches = draw_punches(rng, wishes, paper)
    return Spec(SQUARE, folds, punches) if punches else None


def draw_bends(rng: Random, wishes: Wishes) -> tuple[Bend, ...] | None:
    """A sequence of folds, at most one of them in an oblique crease."""
    bends: tuple[Bend, ...] = ()
    for _ in range(rng.randint(*wishes.folds)):
        slanting = any(kind_of(bend.line) == OBLIQUE for bend in bends)
        allowed = [kind for kind in wishes.creases if kind != OBLIQUE or not slanting] or list(wishes.creases)
        paper = paper_of(bends)
        bend = draw_bend(rng, bounds_of(paper), rng.choice(allowed)) if paper is not None else None
        if bend is None:
            return None
        if wishes.flaps and bends and rng.random() < 1 / 3:
            bend = Bend(bend.line, rng.choice((1, 2)), rng.choice(("over", "behind")))
        bends = (*bends, bend)
    return bends


def draw_bend(rng: Random, bounds: Bounds, kind: str) -> Bend | None:
    """A fold of one kind of crease on paper with the given bounds; the side that reaches less far moves."""
    x0, y0, x1, y1 = bounds
    dx, dy = rng.choice(_SLOPES[kind])
    if kind == STRAIGHT:
        share = rng.choice(_SHARES)
        through = (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)
    else:
        through = rng.choice((x0, (x0 + x1) / 2, x1)), rng.choice((y0, (y0 + y1) / 2, y1))
    line = line_through(through, (through[0] + dx, through[1] + dy))
    heights = [height_at(line, corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    high, low = max(heights), min(heights)
    if high <= 0 or low >= 0:
        return None
    moving_side_is_positive = high < -low or (high == -low and rng.random() < 0.5)
    return Bend(line) if moving_side_is_positive else Bend(line).other_way


def height_at(line: Line, p: Point) -> Fraction:
    """Positive, zero or negative as a point lies on the side that moves, on the line, or beyond it."""
    return line[0] * p[0] + line[1] * p[1] + line[2]


def bounds_of(paper: Paper) -> Bounds:
    """The exact bounds of the folded paper."""
    points = [point(v) for face in paper.folded.states[-1].faces for v in face.folded]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def draw_punches(rng: Random, wishes: Wishes, paper: Paper) -> tuple[Punch, ...]:
    """Punches clear of every edge and of each other, through two layers at least; none when there is no room."""
    size = wishes.size(paper.count)
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
    x0, y0, x1, y1 = paper.bounds(paper.count)
    for i in range(int(x0 * STEPS), int(x1 * STEPS) + 1):
        for j in range(int(y0 * STEPS), int(y1 * STEPS) + 1):
            if (layers_at(paper, complex(i / STEPS, j / STEPS), size) or 0) >= layers:
                yield Fraction(i, STEPS), Fraction(j, STEPS)


def layers_at(paper: Paper, at: complex, size: float) -> int | None:
    """How many layers a punch goes through; None when it comes near an edge of any (convex sheets)."""
    reach = size / 2 + CLEARANCE
    depths = [layer.depth(at) for layer in paper.layers(paper.count)]
    return sum(depth > 0 for depth in depths) if all(abs(depth) >= reach for depth in depths) else None
