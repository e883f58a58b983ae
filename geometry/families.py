"""Families of sister questions: grids whose cells' true answers are one another's likely mistakes.

Five cells are taken: three of one row and two of the other, so that six of ten pairs differ by one mistake, the rest by
two. Grids are only likely to keep the rules of a set; ``sisters`` holds each against them.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from itertools import combinations
from math import atan2, degrees
from random import Random

import numpy as np

from geometry.creasing import DIAGONAL, STRAIGHT, kind_of, natural_lines, unsigned
from geometry.grids import Cell, Grid, Row, Upper, mirrored_line, turned
from geometry.places import FIRSTS, TINY, Places, places_for
from geometry.plane import Line, Point, line_through
from geometry.shapes import SHAPES
from geometry.spec import Punch
from geometry.starts import Room, draw_lines, two_starts
from geometry.wishes import Wishes

MIDDLES: tuple[Line, ...] = ((2, 0, -1), (0, 2, -1), (1, -1, 0), (1, 1, -1))  # the square's own mirror lines
FROM_EDGE = 1 / 2
THREE, TWO = ((0, 0), (1, 0), (2, 0)), tuple(combinations(range(3), 2))

FOUR_COLUMNS = (*THREE, (3, 1), (0, 1))


def five_cells(rng: Random, pairs: Sequence[tuple[int, int]] = TWO) -> tuple[Cell, ...]:
    """Three cells of one row and two of the other, over three upper folds."""
    return (*THREE, *((a, 1) for a in rng.choice(pairs)))


# --- first creases --------------------------------------------------------------------------------------------------


def half_turn(rng: Random, wishes: Wishes) -> Grid | None:
    """First creases d, l and v: spinning the holes about the middle of d is mirroring them in l.

    The second crease goes through the middle of d; l goes through it square to that; v lies beside l, for half of the
    questions where measuring from the edge of the paper, not from l, would put it.
    """
    lower = _lower_lines(rng, wishes, first=spun_about())
    if lower is None:
        return None
    lines, places = lower
    triples = [t for t in spun(lines[0]) if all(kind_of(FIRSTS[i]) in wishes.creases for i in t)]
    fitting = _fits_of(places, triples)
    if fitting is not None and len(lines) == 1 and rng.random() < FROM_EDGE:
        measured = fitting & np.array([_measured_from_edge(places, across, v) for _, across, v in triples])
        fitting = measured if measured.any() else fitting
    return _draw_first_creases(rng, wishes, "half-turn", triples, fitting, lines, five_cells(rng))


def two_directions(rng: Random, wishes: Wishes) -> Grid | None:
    """First creases of two directions, two of each: fewer single mistakes, but almost any wishes allow it."""
    lower = _lower_lines(rng, wishes)
    if lower is None:
        return None
    lines, places = lower
    fitting = [i for i in np.flatnonzero(places.first_fits.any(axis=1)).tolist() if _kind_wished(i, wishes)]
    pairs = [(i, j) for i, j in combinations(fitting, 2) if parallel(FIRSTS[i], FIRSTS[j])]
    fours = [(*p, *q) for p in pairs for q in pairs if not parallel(FIRSTS[p[0]], FIRSTS[q[0]])]
    tried = rng.sample(fours, min(len(fours), 40))
    return _draw_first_creases(rng, wishes, "two directions", tried, _fits_of(places, tried), lines, FOUR_COLUMNS)


def _draw_first_creases(
    rng: Random,
    wishes: Wishes,
    family: str,
    choices: Sequence[tuple[int, ...]],
    fitting: np.ndarray | None,
    lines: tuple[Line, ...],
    cells: tuple[Cell, ...],
) -> Grid | None:
    """Columns that differ in the first crease: any of the choices, the likelier the more places fit it."""
    if fitting is None or not fitting.any():
        return None
    size = wishes.size(len(lines) + 1)
    chosen = rng.choices(range(len(choices)), fitting.sum(axis=1).tolist())[0]
    firsts = choices[chosen]
    starts = two_starts(rng, wishes, Room(lines, size, firsts, fitting[chosen]))
    return first_creases(family, firsts, starts, cells) if starts is not None else None


def first_creases(family: str, firsts: Sequence[int], rows: tuple[Row, Row], cells: tuple[Cell, ...]) -> Grid:
    """Columns that differ in the first crease (places in ``FIRSTS``)."""
    return Grid(family, tuple(Upper((FIRSTS[first],)) for first in firsts), rows, cells)


def _fits_of(places: Places, choices: Sequence[tuple[int, ...]]) -> np.ndarray | None:
    """For each choice of first creases, which places fit it."""
    return places.fitting(np.array(choices)) if choices else None


def _measured_from_edge(places: Places, line: int, other: int) -> np.ndarray:
    """At which places the distance of a copy mirrored in the other line is the one taken from the edge of the paper."""
    beyond = places.heights_of_corners(line)
    own, others = places.heights(line), places.heights(other)
    width = np.where(own < 0, beyond.max(), -beyond.min())
    return np.abs(np.abs(others) - width / 2) < TINY


def _lower_lines(
    rng: Random, wishes: Wishes, first: Sequence[Line] | None = None
) -> tuple[tuple[Line, ...], Places] | None:
    """The creases of all folds but the first, and where punches fit them."""
    count = wishes.draw_folds(rng)
    if count is None:
        return None
    drawn = draw_lines(rng, wishes, count - 1)
    if first is not None:
        allowed = [line for line in first if kind_of(line) in wishes.creases]
        drawn = (rng.choice(allowed), *drawn[1:]) if allowed else ()
    if not drawn:
        return None
    places = places_for(drawn, wishes.size(count))
    return (drawn, places) if places.images.size else None


def _kind_wished(first: int, wishes: Wishes) -> bool:
    return kind_of(FIRSTS[first]) in wishes.creases


@cache
def spun(y: Line) -> tuple[tuple[int, int, int], ...]:
    """Triples (d, l, v) of places in ``FIRSTS`` for a second crease y."""
    triples = []
    for d, line in enumerate(FIRSTS):
        foot = _foot(line)
        if not _through(y, foot) or parallel(y, line) or square_to(y, line):
            continue
        across = unsigned(line_through(foot, (foot[0] + y[0], foot[1] + y[1])))
        if across in FIRSTS:
            beside = [v for v, other in enumerate(FIRSTS) if parallel(other, across) and other != across]
            triples += [(d, FIRSTS.index(across), v) for v in beside]
    return tuple(triples)


def _foot(line: Line) -> Point:
    """The middle of the line's way across the square."""
    (px, py), (qx, qy) = _ends(line)
    return (px + qx) / 2, (py + qy) / 2


def _ends(line: Line) -> tuple[Point, Point]:
    """Where a line enters and leaves the square."""
    a, b, c = line
    ends = set()
    for x in (0, 1):
        if b and 0 <= Fraction(-a * x - c, b) <= 1:
            ends.add((Fraction(x), Fraction(-a * x - c, b)))
        if a and 0 <= Fraction(-b * x - c, a) <= 1:
            ends.add((Fraction(-b * x - c, a), Fraction(x)))
    return min(ends), max(ends)


def _through(line: Line, p: Point) -> bool:
    return line[0] * p[0] + line[1] * p[1] + line[2] == 0


def parallel(p: Line, q: Line) -> bool:
    return p[0] * q[1] == p[1] * q[0]


def square_to(p: Line, q: Line) -> bool:
    return p[0] * q[0] + p[1] * q[1] == 0


@cache
def spun_about() -> tuple[Line, ...]:
    """The creases about whose middle some first crease may be spun."""
    return tuple(line for line in FIRSTS if spun(line))


# --- a fold left out ------------------------------------------------------------------------------------------------


def left_out(rng: Random, wishes: Wishes) -> Grid | None:
    """Folds x and y; y alone; x alone.

    With both, the punch goes through the other side of y: so y alone is x not opened, and x alone is y's holes carried
    over.
    """
    count = wishes.draw_pair_of_folds(rng)
    wishes = wishes.without_chiral()
    if count is None or not wishes.shapes:
        return None
    plain = tuple(k for k in (STRAIGHT, DIAGONAL) if k in wishes.creases)
    if not plain:
        return None
    y = rng.choice(natural_lines(rng.choice(plain)))
    last = draw_lines(rng, wishes, count - 1)
    mirrored = tuple(mirrored_line(line, y) for line in last)
    if any(kind_of(line) not in wishes.creases for line in mirrored):
        return None
    size = wishes.size(count + 1)
    places = places_for((y, *last), size)
    own = places.every_hole >> len(places.images) // 2  # the holes of the last folds, before y doubles them
    fitting = places.first_fits & (places.doubled & own == own)
    firsts = [i for i in np.flatnonzero(fitting.any(axis=1)).tolist() if _kind_wished(i, wishes)]
    if not firsts:
        return None
    first = rng.choice(firsts)
    room = Room((y, *last), size, (first,), fitting[first])
    starts = two_starts(rng, wishes, room)
    if starts is None:
        return None
    x = FIRSTS[first]
    uppers = (Upper((x, y), mirror=y), Upper((y,)), Upper((x,)))
    rows = tuple(Row(start.punches, start.lines[1:]) for start in starts)
    # the pair needs y alone: from both folds, x alone is no mistake at the last opening
    return Grid("left out", uppers, rows, five_cells(rng, ((0, 1), (1, 2))))


def carried(rng: Random, wishes: Wishes) -> Grid | None:
    """A first fold x in a middle line of the square; left out; left out with the punch on its other side.

    All other creases are square to x, and the shape points across it, so that turning it half round is mirroring it:
    then a punch turned and a punch put on the other side differ by a mere shift, and most options by a single mistake.
    """
    count = wishes.draw_pair_of_folds(rng)
    shapes = [s for s in wishes.shapes if SHAPES[s].rotations == 1 and SHAPES[s].axes]
    middles = [x for x in MIDDLES if kind_of(x) in wishes.creases]
    if count is None or not shapes or not middles or wishes.punches[0] > 1:
        return None
    x = rng.choice(middles)
    rest = tuple(rng.sample([line for line in natural_lines(kind_of(x)) if square_to(line, x)], count))
    places = places_for(rest, wishes.size(count + 1))
    first = FIRSTS.index(unsigned(x))
    at = places.drawn(rng, 1, (first,), places.first_fits[first])
    if at is None:
        return None
    turn = Fraction(round(degrees(atan2(x[1], x[0])))) - 90 + rng.choice((0, 180))
    punch = Punch(rng.choice(shapes), at[0], wishes.size(count + 1), turn % 360)
    rows = tuple(Row((one,), rest) for one in (punch, turned(punch, 180)))
    uppers = (Upper((x,)), Upper(()), Upper((), mirror=x))
    return Grid("carried", uppers, rows, (*THREE, (0, 1), (rng.choice((1, 2)), 1)))


# --- flaps ----------------------------------------------------------------------------------------------------------


def flap(rng: Random, wishes: Wishes) -> Grid | None:
    """Two folds, the second taking all layers, the top one only, or the bottom one only."""
    if not wishes.folds[0] <= 2 <= wishes.folds[1]:
        return None
    y = draw_lines(rng, wishes, 1)
    places = places_for(y, wishes.size(2))
    fitting = places.first_fits & (places.doubled == places.every_hole)
    for first in np.flatnonzero(fitting.any(axis=1)).tolist():
        fitting[first] &= _leaves_free(places, FIRSTS[first], y[0])
    firsts = [i for i in np.flatnonzero(fitting.any(axis=1)).tolist() if _kind_wished(i, wishes)]
    if not firsts:
        return None
    first = rng.choice(firsts)
    starts = two_starts(rng, wishes.with_one_punch(), Room(y, wishes.size(2), (first,), fitting[first]))
    return flaps(FIRSTS[first], starts, five_cells(rng)) if starts is not None else None


def flaps(first: Line, rows: tuple[Row, Row], cells: tuple[Cell, ...]) -> Grid:
    """Columns that differ in how many layers the second fold takes."""
    return Grid(
        "flap", (Upper((first,)), Upper((first,), flap=(1, "over")), Upper((first,), flap=(1, "behind"))), rows, cells
    )


def _leaves_free(places: Places, x: Line, y: Line) -> np.ndarray:
    """At which places a fold in y, away from the place, holds no part of crease x, and so can take one layer."""
    heights = [y[0] * p[0] + y[1] * p[1] + y[2] for p in _ends(x)]
    return places.on_positive_side(y) if min(heights) >= 0 else ~places.on_positive_side(y) & (max(heights) <= 0)
