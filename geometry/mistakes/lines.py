"""The lines that a pupil might mirror in by mistake."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from geometry.marks import unit
from geometry.mistakes.kind import Ground, Line
from geometry.openings import Opening, Paper

DIRECTIONS = {
    "horizontal": unit(0),
    "vertical": unit(90),
    "diagonal": (1 + 1j) / sqrt(2),
    "other diagonal": (1 - 1j) / sqrt(2),
}
OFFSETS = (1 / 8, 1 / 6, 1 / 4)  # sheet widths beside the crease


def middle_lines(paper: Paper, folds: int) -> Iterator[Line]:
    """The lines through the middle of the paper in a state, in the four common directions."""
    middle = middle_of(paper, folds)
    for along in DIRECTIONS.values():
        yield middle, along


def middle_of(paper: Paper, folds: int) -> complex:
    """The middle of the bounds of the paper in a state."""
    x0, y0, x1, y1 = paper.bounds(folds)
    return complex((x0 + x1) / 2, (y0 + y1) / 2)


def other_directions(ground: Ground) -> Iterator[tuple[str, Line]]:
    """Lines of another common direction than the crease's, through its middle or the middle of the paper, by name."""
    opening = ground.opening
    middle = middle_of(ground.paper, opening.number - 1)
    for name, along in DIRECTIONS.items():
        if is_parallel(along, opening.along):
            continue
        yield name, (opening.foot, along)
        if abs((along.conjugate() * (middle - opening.foot)).imag) > 1e-6:
            yield name, (middle, along)


def beside(opening: Opening) -> Iterator[Line]:
    """Lines parallel to the crease, on either side of it."""
    for offset in OFFSETS:
        for side in (1, -1):
            yield opening.foot + opening.normal * offset * side, opening.along


def direction_name(along: complex) -> str:
    """ "horizontal", "vertical", "diagonal", "other diagonal" or "slanting"."""
    return next((name for name, common in DIRECTIONS.items() if is_parallel(along, common)), "slanting")


def is_parallel(p: complex, q: complex) -> bool:
    return abs((p.conjugate() * q).imag) < 1e-9 * abs(p) * abs(q)
