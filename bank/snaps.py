"""What a hand can take hold of on folded paper: corners, middles and thirds of edges, the edges and creases themselves.

Every place is exact and has a name in words, so that a drag that snaps to it can say so and the fold it makes is exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import shapely

from geometry.folding import Crease, State, fold_sheet
from geometry.plane import Line, Point, point
from geometry.spec import Fold, Sheet

PARTS = {
    Fraction(1, 2): "the middle of",
    Fraction(1, 3): "a third along",
    Fraction(2, 3): "a third along",
}
SHORT = Fraction(1, 10)  # sheet widths: edges of a disc, say, have no middles to take hold of
SIDES = {
    (0, False): "the left edge",
    (0, True): "the right edge",
    (1, False): "the bottom edge",
    (1, True): "the top edge",
}


@dataclass(frozen=True)
class Hold:
    """The paper of one state for a script: ``points`` "x,y|name;..", ``lines`` "x,y x,y|name;..", exact.

    ``outline`` is its silhouette in decimals, ``low`` and ``high`` the corners of the box about it.
    """

    points: str
    lines: str
    outline: str
    low: str
    high: str


@lru_cache(maxsize=256)
def hold_after(sheet: Sheet, folds: tuple[Fold, ...]) -> Hold:
    """What there is to take hold of once these folds are made. Kept: most folds stay as the paper is tried further."""
    folded = fold_sheet(sheet, folds)
    state, creases = folded.states[-1], folded.creases
    edges = list(_edges(state))
    corners = {end for edge in edges for end in edge}
    low = min(x for x, _ in corners), min(y for _, y in corners)
    high = max(x for x, _ in corners), max(y for _, y in corners)
    names = {edge: _edge_name(edge, low, high, creases) for edge in edges}
    points = {corner: _corner_name(corner, low, high) for corner in sorted(corners)}
    for (p, q), name in names.items():
        long = max(abs(q[0] - p[0]), abs(q[1] - p[1])) > SHORT
        for part, of in PARTS.items() if long else ():
            points.setdefault((p[0] + (q[0] - p[0]) * part, p[1] + (q[1] - p[1]) * part), f"{of} {name}")
    silhouette = state.outline
    rings = [shapely.get_coordinates(part.exterior) for part in shapely.get_parts(silhouette)]
    largest = max(rings, key=lambda ring: shapely.Polygon(ring).area)
    return Hold(
        ";".join(f"{_written(p)}|{name}" for p, name in points.items()),
        ";".join(f"{_written(p)} {_written(q)}|on {name}" for (p, q), name in names.items()),
        " ".join(f"{x:.6g},{y:.6g}" for x, y in largest[:-1]),
        _written(low),
        _written(high),
    )


def _edges(state: State) -> Iterable[tuple[Point, Point]]:
    """The edges of all faces where they lie, each once."""
    seen = set()
    for face in state.faces:
        ends = [point(vertex) for vertex in face.folded]
        for p, q in zip(ends, [*ends[1:], ends[0]], strict=True):
            edge = (min(p, q), max(p, q))
            if edge not in seen:
                seen.add(edge)
                yield edge


def _corner_name(corner: Point, low: Point, high: Point) -> str:
    across = {low[0]: "left", high[0]: "right"}.get(corner[0])
    up = {low[1]: "bottom", high[1]: "top"}.get(corner[1])
    return f"the {up} {across} corner" if across and up else "a corner"


def _edge_name(edge: tuple[Point, Point], low: Point, high: Point, creases: Sequence[Crease]) -> str:
    for crease in creases:
        if all(_lies_on(end, crease.line) for end in edge):
            return f"the crease of fold {crease.number}"
    for axis in (0, 1):
        if edge[0][axis] == edge[1][axis] and edge[0][axis] in (low[axis], high[axis]):
            return SIDES[axis, edge[0][axis] == high[axis]]
    return "an edge"


def _lies_on(p: Point, line: Line) -> bool:
    a, b, c = line
    return a * p[0] + b * p[1] + c == 0


def _written(p: Point) -> str:
    return f"{p[0]},{p[1]}"
