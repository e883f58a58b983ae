"""How the rows of a family's grid begin: punches at places drawn by lot, and one thing about them changed."""

from __future__ import annotations

from fractions import Fraction
from random import Random
from typing import NamedTuple

import numpy as np

from geometry.creasing import OBLIQUE, natural_lines
from geometry.grids import Punches, Row, moved, turned
from geometry.places import TRIES, Places, places_for
from geometry.plane import Line, Point
from geometry.shapes import SHAPES
from geometry.spec import Punch
from geometry.wishes import Wishes


class Room(NamedTuple):
    """Where the punches of a grid may stand: the creases below the first, the size of holes, the first creases of all
    columns, and which places fit."""

    lines: tuple[Line, ...]
    size: Fraction
    firsts: tuple[int, ...]
    fitting: np.ndarray

    @property
    def places(self) -> Places:
        return places_for(self.lines, self.size)


def two_starts(rng: Random, wishes: Wishes, room: Room) -> tuple[Row, Row] | None:
    """Two rows that differ by one mistake at the start; the way they differ is drawn first, then places for it."""
    count = rng.randint(*wishes.punches)
    ways = [_move_one] * 3 + [_turn_one]
    if len(room.lines) > 1:
        ways += [_other_last_crease]
    if count > 1:
        ways += [_swap_two] * 4
    way = rng.choice(ways)
    for _ in range(TRIES):
        row = _draw_row(rng, wishes, room, count)
        if row is None:
            return None
        changed = way(rng, wishes, room, row)
        if changed is not None:
            return row, changed
    return None


def _draw_row(rng: Random, wishes: Wishes, room: Room, count: int) -> Row | None:
    """Punches of different shapes, where there are as many, at places drawn by lot."""
    at = room.places.drawn(rng, count, room.firsts, room.fitting)
    if at is None:
        return None
    few = len(wishes.shapes) < count
    shapes = rng.choices(wishes.shapes, k=count) if few else rng.sample(wishes.shapes, count)
    turns = [Fraction(rng.choice((0, 90, 180, 270))) for _ in shapes]
    return Row(tuple(Punch(s, p, room.size, t) for s, p, t in zip(shapes, at, turns, strict=True)), room.lines)


def _move_one(rng: Random, wishes: Wishes, room: Room, row: Row) -> Row | None:
    """One punch elsewhere."""
    i = rng.randrange(len(row.punches))
    others = [p.at for j, p in enumerate(row.punches) if j != i]
    at = room.places.another(rng, row.punches[i].at, others, room.firsts, room.fitting)
    return row._replace(punches=_with(row.punches, i, moved(row.punches[i], at))) if at is not None else None


def _turn_one(rng: Random, wishes: Wishes, room: Room, row: Row) -> Row | None:
    """One punch a quarter or half round."""
    i = rng.randrange(len(row.punches))
    rotations = SHAPES[row.punches[i].shape].rotations
    if rotations > 2:
        return None
    turn = rng.choice((90, 180, 180, 270)) if rotations == 1 else 90
    return row._replace(punches=_with(row.punches, i, turned(row.punches[i], turn)))


def _swap_two(rng: Random, wishes: Wishes, room: Room, row: Row) -> Row | None:
    """Two punches of different shapes in each other's places."""
    if len(row.punches) < 2 or row.punches[0].shape == row.punches[1].shape:
        return None
    first, second, *rest = row.punches
    return row._replace(punches=(moved(second, first.at), moved(first, second.at), *rest))


def _other_last_crease(rng: Random, wishes: Wishes, room: Room, row: Row) -> Row | None:
    """Another last crease, where the last is none that the columns depend on."""
    if len(room.lines) < 2:
        return None
    for _ in range(8):
        (line,) = draw_lines(rng, wishes, 1)
        lines = (*room.lines[:-1], line)
        if line != room.lines[-1] and all(_stands(room, row, lines, punch.at) for punch in row.punches):
            return Row(row.punches, lines)
    return None


def _stands(room: Room, row: Row, lines: tuple[Line, ...], at: Point) -> bool:
    """True when a punch's holes are clear with another last crease too, on the same sides of all first creases."""
    here = Places(lines, float(room.size), at=at)
    if not here.images.size:
        return False
    before, firsts = Places(room.lines, float(room.size), at=at), list(room.firsts)
    alike = here.first_sides[firsts] == before.first_sides[firsts]
    return bool(here.fitting(np.array([room.firsts])).all() and alike.all())


def _with(punches: Punches, i: int, punch: Punch) -> Punches:
    return (*punches[:i], punch, *punches[i + 1 :])


def draw_lines(rng: Random, wishes: Wishes, count: int) -> tuple[Line, ...]:
    """Natural lines, straight or diagonal where those are allowed."""
    plain = [kind for kind in wishes.creases if kind != OBLIQUE] or list(wishes.creases)
    return tuple(rng.choice(natural_lines(rng.choice(plain))) for _ in range(count))
