"""The grid that five sister questions are taken from: plain data, from which every sister can be made again.

Along one axis the upper folds differ (a crease in another line, a fold left out, a flap); along the other the start
differs (a punch moved, turned or swapped, another last crease). A cell is an upper and a row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, degrees
from typing import Any, NamedTuple

from geometry.creasing import SQUARE, Bend, folds_of, unsigned
from geometry.explaining import Plan
from geometry.places import away_from
from geometry.plane import Line, Point, reduce_triple, reflection
from geometry.shapes import SHAPES
from geometry.spec import Punch, Spec, Way, read_spec

Cell = tuple[int, int]  # which upper folds, which row
Punches = tuple[Punch, ...]


class Row(NamedTuple):
    """How a row of the grid begins: its punches, and its creases below the upper ones (the last fold's last)."""

    punches: Punches
    lines: tuple[Line, ...]


class Upper(NamedTuple):
    """What a column puts above its row: its own creases; the row mirrored in a line; its last fold made a flap."""

    lines: tuple[Line, ...]
    mirror: Line | None = None
    flap: tuple[int, Way] | None = None


@dataclass(frozen=True)
class Grid:
    """Columns, rows, and the five cells taken."""

    family: str
    uppers: tuple[Upper, ...]
    rows: tuple[Row, ...]
    cells: tuple[Cell, ...]

    def plan(self, upper: int, row: int) -> Plan:
        """The folds and punches of a cell: each time the side without the punch moves."""
        above, below = self.uppers[upper], self.rows[row]
        if above.mirror is not None:
            below = mirrored_row(below, above.mirror)
        bends = [Bend(away_from(line, below.punches[0].at)) for line in (*above.lines, *below.lines)]
        if above.flap is not None:
            bends[-1] = Bend(bends[-1].line, *above.flap)
        return Plan(tuple(bends), below.punches)

    def spec(self, cell: Cell) -> Spec:
        """The question of a cell."""
        return spec_of(self.plan(*cell))

    def to_json(self) -> dict[str, Any]:
        """The grid without its cells, which stand with the options."""
        return {
            "family": self.family,
            "uppers": [_write_upper(upper) for upper in self.uppers],
            "rows": [
                {"punches": [p.to_json() for p in row.punches], "lines": [list(line) for line in row.lines]}
                for row in self.rows
            ],
        }

    @classmethod
    def from_json(cls, data: dict[str, Any], cells: Sequence[Cell]) -> Grid:
        """The grid that ``to_json`` wrote, with the cells of its options."""
        return cls(
            data["family"],
            tuple(_read_upper(upper) for upper in data["uppers"]),
            tuple(Row(_read_punches(row["punches"]), _read_lines(row["lines"])) for row in data["rows"]),
            tuple(cells),
        )


def spec_of(plan: Plan) -> Spec:
    """A plan as a spec."""
    return Spec(SQUARE, folds_of(plan.bends) or (), plan.punches)


def _write_upper(upper: Upper) -> dict[str, Any]:
    mirror, flap = (list(part) if part is not None else None for part in (upper.mirror, upper.flap))
    return {"lines": [list(line) for line in upper.lines], "mirror": mirror, "flap": flap}


def _read_upper(data: dict[str, Any]) -> Upper:
    mirror = _read_lines([data["mirror"]])[0] if data["mirror"] else None
    return Upper(_read_lines(data["lines"]), mirror, (data["flap"][0], data["flap"][1]) if data["flap"] else None)


def _read_lines(data: Sequence[Sequence[int]]) -> tuple[Line, ...]:
    return tuple((a, b, c) for a, b, c in data)


def _read_punches(data: list[dict[str, Any]]) -> Punches:
    return read_spec({"version": 1, "sheet": SQUARE.to_json(), "punches": data}).punches


def mirrored_row(row: Row, by: Line) -> Row:
    """A row's mirror image."""
    return Row(tuple(_mirrored(p, by) for p in row.punches), tuple(mirrored_line(line, by) for line in row.lines))


def mirrored_line(line: Line, by: Line) -> Line:
    """A line's mirror image."""
    return unsigned(reduce_triple(reflection(by).pull_back(line)))


def _mirrored(punch: Punch, by: Line) -> Punch:
    """A punch's mirror image, for a shape with an axis and a line at a multiple of 45 degrees."""
    axis = Fraction(SHAPES[punch.shape].axes[0])
    along = Fraction(round(degrees(atan2(by[0], -by[1]))))
    turn = (2 * (along - axis) - punch.turn) % 360
    return Punch(punch.shape, reflection(by).carry_point(punch.at), punch.size, turn)


def moved(punch: Punch, at: Point) -> Punch:
    """A punch elsewhere, the same way round."""
    return Punch(punch.shape, at, punch.size, punch.turn)


def turned(punch: Punch, turn: int) -> Punch:
    """A punch turned about its own centre, in degrees."""
    return Punch(punch.shape, punch.at, punch.size, (punch.turn + turn) % 360)
