"""A second, slow opinion on every spec, in exact fractions, that shares no code with the engine.

Paper is held as cells: convex polygons of the flat sheet, whatever its outline. A cell cut by a line stays convex, so
cutting needs one short rule; which cells hang together is asked of their edges; and a hole is never built, only asked:
how much of a layer lies under an outline, and is this point of the sheet in a hole. The rules of folding are taken
from their definition alone (the all-layers and some-layers simple folds of Arkin, Bender, Demaine, Demaine, Mitchell,
Sethia and Skiena, "When can you fold a map?", 2004).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction as F
from itertools import pairwise
from typing import Any

Point = tuple[F, F]
Cell = tuple[Point, ...]  # convex, anticlockwise
Line = tuple[F, F, F]  # a x + b y + c, positive on the side that moves
Matrix = tuple[F, F, F, F, F, F]  # x' = a x + b y + e, y' = c x + d y + f, in the order a b c d e f

STAY: Matrix = (F(1), F(0), F(0), F(1), F(0), F(0))
NARROWEST = F(1, 1000)


class Refused(Exception):
    """The spec cannot be made by hand: ``cause`` in one word, with the fold (from 1) or the punch (from 0)."""

    def __init__(self, cause: str, *, fold: int | None = None, punch: int | None = None):
        super().__init__(cause)
        self.cause, self.fold, self.punch = cause, fold, punch


@dataclass(frozen=True, eq=False)
class Layer:
    """A piece of paper between creases: its cells on the flat sheet, and where they lie now."""

    cells: tuple[Cell, ...]
    matrix: Matrix = STAY

    def lying(self) -> list[Cell]:
        return [turned_left(tuple(image(self.matrix, p) for p in cell)) for cell in self.cells]

    def holds(self, p: Point) -> bool:
        """True when the point of the folded plane lies on this layer or its rim."""
        return any(in_convex(cell, p) for cell in self.lying())

    def flat(self, p: Point) -> Point:
        """Where on the flat sheet a point of the folded plane lies."""
        return image(undone(self.matrix), p)


Stack = list[Layer]  # bottom to top


# --- the spec -----------------------------------------------------------------------------------------------------


def point(data: Sequence[Any]) -> Point:
    return F(data[0]), F(data[1])


def sheet_of(data: dict[str, Any]) -> tuple[Point, ...]:
    """The corners of the sheets with straight sides; a disc or hexagon is handed over as a polygon."""
    kind = data["kind"]
    if kind == "polygon":
        return turned_left(tuple(point(p) for p in data["points"]))
    wide, high = (F(data["width"]), F(data["height"])) if kind == "rectangle" else (F(1), F(1))
    return (F(0), F(0)), (wide, F(0)), (wide, high), (F(0), high)


def line_of(fold: dict[str, Any], number: int) -> tuple[Line, Point]:
    """The crease as a line that is positive where paper moves, and the grip."""
    if "bring" in fold:
        p, q = point(fold["bring"]), point(fold["to"])
        if p == q:
            raise Refused("crease", fold=number)
        a, b = p[0] - q[0], p[1] - q[1]
        line = (a, b, -(a * (p[0] + q[0]) + b * (p[1] + q[1])) / 2)
        return line, p
    (p, q), grip = map(point, fold["crease"]), point(fold["moves"])
    if p == q:
        raise Refused("crease", fold=number)
    line = (p[1] - q[1], q[0] - p[0], p[0] * q[1] - q[0] * p[1])
    height = above(line, grip)
    if height == 0:
        raise Refused("moves", fold=number)
    return (line if height > 0 else (-line[0], -line[1], -line[2])), grip


# --- points, lines, motions ---------------------------------------------------------------------------------------


def above(line: Line, p: Point) -> F:
    return line[0] * p[0] + line[1] * p[1] + line[2]


def image(m: Matrix, p: Point) -> Point:
    return m[0] * p[0] + m[1] * p[1] + m[4], m[2] * p[0] + m[3] * p[1] + m[5]


def mirrored(line: Line, p: Point) -> Point:
    """The mirror image of a point: as far beyond the line, square to it."""
    step = 2 * above(line, p) / (line[0] ** 2 + line[1] ** 2)
    return p[0] - step * line[0], p[1] - step * line[1]


def then_mirrored(m: Matrix, line: Line) -> Matrix:
    """First ``m``, then the mirror: found from where it takes the origin and the two unit points."""
    o, x, y = (mirrored(line, image(m, p)) for p in ((F(0), F(0)), (F(1), F(0)), (F(0), F(1))))
    return x[0] - o[0], y[0] - o[0], x[1] - o[1], y[1] - o[1], o[0], o[1]


def undone(m: Matrix) -> Matrix:
    a, b, c, d, e, f = m
    det = a * d - b * c
    return d / det, -b / det, -c / det, a / det, (b * f - d * e) / det, (c * e - a * f) / det


def turn(p: Point, q: Point, r: Point) -> F:
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])


def edges(ring: Sequence[Point]) -> Iterable[tuple[Point, Point]]:
    return pairwise((*ring, ring[0]))


def area(ring: Sequence[Point]) -> F:
    return sum((p[0] * q[1] - q[0] * p[1] for p, q in edges(ring)), F(0)) / 2 if ring else F(0)


def turned_left(ring: tuple[Point, ...]) -> tuple[Point, ...]:
    return ring if area(ring) > 0 else ring[::-1]


def in_convex(cell: Cell, p: Point) -> bool:
    return all(turn(a, b, p) >= 0 for a, b in edges(cell))


def in_outline(outline: Sequence[Point], p: Point) -> bool:
    """Whether an upright ray from the point crosses the outline an odd number of times (its rim: either)."""
    inside = False
    for a, b in edges(outline):
        if (a[0] > p[0]) != (b[0] > p[0]) and (turn(a, b, p) > 0) == (a[0] > b[0]):
            inside = not inside
    return inside


# --- cells --------------------------------------------------------------------------------------------------------


def kept(ring: Sequence[Point], line: Line) -> tuple[Point, ...]:
    """What of a ring lies where the line is positive. For a convex ring this is exact; for others the area is."""
    out: list[Point] = []
    for p, q in edges(ring):
        hp, hq = above(line, p), above(line, q)
        if hp >= 0:
            out.append(p)
        if hp * hq < 0:
            t = hp / (hp - hq)
            out.append((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])))
    return tuple(out)


def within(ring: Sequence[Point], cell: Cell) -> tuple[Point, ...]:
    """What of a ring lies in a convex cell, by cutting with its edges one after another."""
    out = tuple(ring)
    for p, q in edges(cell):
        out = kept(out, (p[1] - q[1], q[0] - p[0], p[0] * q[1] - q[0] * p[1]))
        if not out:
            break
    return out


def cells_of(ring: tuple[Point, ...]) -> tuple[Cell, ...]:
    """A simple polygon as convex cells: ears are cut off until what is left is convex."""
    ears: list[Cell] = []
    rest = list(ring)
    while any(turn(rest[i - 2], rest[i - 1], rest[i]) < 0 for i in range(len(rest))):
        for i in range(len(rest)):
            a, b, c = rest[i - 2], rest[i - 1], rest[i]
            others = [p for p in rest if p not in (a, b, c)]
            if turn(a, b, c) > 0 and not any(in_convex((a, b, c), p) for p in others):
                ears.append((a, b, c))
                rest.pop(i - 1)
                break
            if turn(a, b, c) == 0:
                rest.pop(i - 1)
                break
    return (*ears, tuple(rest))


def contact(one: Cell, other: Cell) -> list[tuple[Point, Point]]:
    """The stretches of edge that two cells of the flat sheet have in common."""
    found = []
    for p, q in edges(one):
        for r, s in edges(other):
            if turn(p, q, r) == 0 and turn(p, q, s) == 0:
                axis = 0 if p[0] != q[0] else 1
                low, high = (
                    max(min(p, q, key=_at(axis)), min(r, s, key=_at(axis)), key=_at(axis)),
                    min(max(p, q, key=_at(axis)), max(r, s, key=_at(axis)), key=_at(axis)),
                )
                if low[axis] < high[axis]:
                    found.append((low, high))
    return found


def _at(axis: int) -> Any:
    return lambda p: p[axis]


def clumps(cells: Sequence[Cell]) -> list[tuple[Cell, ...]]:
    """The cells, those that hang together in one clump."""
    left, out = list(cells), []
    while left:
        clump = [left.pop()]
        for cell in clump:  # grows while it is walked
            near = [other for other in left if contact(cell, other)]
            left = [other for other in left if other not in near]
            clump += near
        out.append(tuple(clump))
    return out


def width(cells: Sequence[Cell]) -> F:
    """The square of the least distance between two parallel lines that hold all the cells between them."""
    points = sorted({p for cell in cells for p in cell})
    best: F | None = None
    for i, p in enumerate(points):
        for q in points[i + 1 :]:
            heights = [turn(p, q, r) for r in points]
            if min(heights) >= 0 or max(heights) <= 0:
                spread = (max(heights) - min(heights)) ** 2 / ((q[0] - p[0]) ** 2 + (q[1] - p[1]) ** 2)
                best = spread if best is None else min(best, spread)
    return best or F(0)


# --- folding ------------------------------------------------------------------------------------------------------


@dataclass(eq=False)
class Part:
    """The paper of one layer that hangs together on the moving side."""

    layer: int
    cells: tuple[Cell, ...]
    lying: list[Cell]


def fold_up(sheet: tuple[Point, ...], folds: Sequence[dict[str, Any]]) -> tuple[list[Stack], list[Line]]:
    """Every state from the flat sheet on, and the crease of each fold."""
    states, lines = [[Layer(cells_of(sheet))]], []
    for number, fold in enumerate(folds, 1):
        line, grip = line_of(fold, number)
        states.append(_folded(states[-1], line, grip, fold, number))
        lines.append(line)
    return states, lines


def _folded(stack: Stack, line: Line, grip: Point, fold: dict[str, Any], number: int) -> Stack:
    behind = fold.get("way", "over") == "behind"
    back = (-line[0], -line[1], -line[2])
    parts = [
        Part(i, clump, Layer(clump, layer.matrix).lying())
        for i, layer in enumerate(stack)
        for clump in clumps(_cut(layer, line))
    ]
    if not parts:
        raise Refused("nothing", fold=number)
    if not any(_cut(layer, back) for layer in stack):
        raise Refused("rim", fold=number)
    wanted = fold.get("layers", "all")
    taken = parts if wanted == "all" else _flap(parts, stack, line, grip, wanted, behind=behind, number=number)
    stay: Stack = []
    for i, layer in enumerate(stack):
        stay += _left_over(layer, [p for p in taken if p.layer == i], [p for p in parts if p.layer == i], line, number)
    moved = [Layer(p.cells, then_mirrored(stack[p.layer].matrix, line)) for p in reversed(taken)]
    return moved + stay if behind else stay + moved


def _cut(layer: Layer, line: Line) -> list[Cell]:
    """The parts of a layer's cells where the line is positive, on the flat sheet."""
    m = undone(layer.matrix)
    out = []
    for cell in layer.lying():
        if max(above(line, p) for p in cell) > 0:
            out.append(turned_left(tuple(image(m, p) for p in kept(cell, line))))
    return out


def _left_over(layer: Layer, gone: list[Part], on_side: list[Part], line: Line, number: int) -> Stack:
    """What of a layer stays: all of it, when nothing goes; else the clumps of what is left."""
    if not gone:
        return [layer]
    still = _cut(layer, (-line[0], -line[1], -line[2]))
    rest = clumps(still + [cell for p in on_side if p not in gone for cell in p.cells])
    if still and any(width(cells) < NARROWEST**2 for cells in [p.cells for p in gone] + rest):
        raise Refused("sliver", fold=number)
    return [Layer(cells, layer.matrix) for cells in rest]


def _flap(
    parts: list[Part], stack: Stack, line: Line, grip: Point, wanted: int, *, behind: bool, number: int
) -> list[Part]:
    """The parts that so many layers at the grip take along."""
    from_outside = parts if behind else parts[::-1]
    held = [p for p in from_outside if any(in_convex(cell, grip) for cell in p.lying)]
    if len(held) < wanted:
        raise Refused("layers", fold=number)
    taken = set(held[:wanted])
    while True:
        more = {p for p in parts if p not in taken and any(_pulled(p, q, stack, line, behind=behind) for q in taken)}
        if not more:
            return [p for p in parts if p in taken]
        taken |= more


def _pulled(p: Part, by: Part, stack: Stack, line: Line, *, behind: bool) -> bool:
    """Whether a part must go where another goes: joined to it off the crease, or in its way."""
    matrix = stack[by.layer].matrix
    for stretch in (s for one in p.cells for other in by.cells for s in contact(one, other)):
        if any(above(line, image(matrix, end)) for end in stretch):
            return True
    outside = p.layer < by.layer if behind else p.layer > by.layer
    return outside and any(area(within(one, other)) > 0 for one in p.lying for other in by.lying if _near(one, other))


def _near(one: Cell, other: Cell) -> bool:
    """Whether the upright boxes about two cells meet (to save the exact work)."""
    return all(
        max(p[i] for p in one) > min(p[i] for p in other) and max(p[i] for p in other) > min(p[i] for p in one)
        for i in (0, 1)
    )


# --- holes --------------------------------------------------------------------------------------------------------


def removed(layer: Layer, outline: Sequence[Point]) -> F:
    """How much paper an outline in the folded plane takes out of a layer."""
    return sum((abs(area(within(outline, c))) for c in layer.lying() if _near(tuple(outline), c)), F(0))


def in_hole(stack: Stack, outlines: Sequence[Sequence[Point]], flat: Point) -> bool:
    """Whether a point of the flat sheet (on no crease) is punched out."""
    return any(
        in_outline(outline, image(layer.matrix, flat))
        for layer in stack
        if any(in_convex(cell, flat) for cell in layer.cells)
        for outline in outlines
    )


def folded_place(lines: Sequence[Line], flat: Point) -> Point:
    """Where all-layers folds bring a point of the sheet: mirrored in each crease on whose moving side it lies.

    This needs no polygons at all, and so cannot share a mistake with anything that cuts them.
    """
    p = flat
    for line in lines:
        if above(line, p) > 0:
            p = mirrored(line, p)
    return p


def layers_at(stack: Stack, p: Point) -> list[Point]:
    """The flat places of everything that lies at a point of the folded plane, bottom to top."""
    return [layer.flat(p) for layer in stack if layer.holds(p)]
