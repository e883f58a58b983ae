"""Cutting a simple polygon along a line, exactly; and asking whether two polygons overlap."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from geometry.plane import Line, Polygon, Vertex, cross, crossing, side

Chain = list[Vertex]


def split(polygon: Polygon, line: Line) -> tuple[list[Polygon], list[Polygon]]:
    """The pieces of a simple anticlockwise polygon on the positive and on the negative side of a line.

    A polygon that is not convex may fall into several pieces on a side. A polygon that the line does not cross comes
    back as it is, on its side.
    """
    sides = [side(line, v) for v in polygon]
    if min(sides) >= 0:
        return [polygon], []
    if max(sides) <= 0:
        return [], [polygon]
    above, below = _chains(polygon, sides)
    return _close(above, line), _close(below, line)


def _chains(polygon: Polygon, sides: Sequence[int]) -> tuple[list[Chain], list[Chain]]:
    """The runs of the rim above and below the line, each from where it leaves the line to where it returns."""
    ring: list[tuple[Vertex, int]] = []
    for i, v in enumerate(polygon):
        before = sides[i - 1]
        if before * sides[i] < 0:
            ring.append((crossing(polygon[i - 1], v, before, sides[i]), 0))
        ring.append((v, sides[i]))
    start = next(i for i, (_, s) in enumerate(ring) if s == 0)
    ring = ring[start:] + ring[: start + 1]
    above: list[Chain] = []
    below: list[Chain] = []
    chain: Chain = [ring[0][0]]
    previous = 0
    for v, s in ring[1:]:
        chain.append(v)
        if s == 0:
            if previous:
                (above if previous > 0 else below).append(chain)
            chain = [v]
        previous = s
    return above, below


def _close(chains: list[Chain], line: Line) -> list[Polygon]:
    """Join chains along the line into closed pieces.

    Just off the line, paper and no paper alternate at the chains' ends; so the ends, in order along the line, belong
    together two by two. Ends at one point are ordered by where their edges lead.
    """
    if len(chains) == 1:
        return [_ring(chains[0])]
    ends = [
        (_place(c, at_start=at_start, line=line), i, at_start)
        for i, c in enumerate(chains)
        for at_start in (True, False)
    ]
    ends.sort(key=lambda end: end[0])
    follows: dict[int, int] = {}
    for (_, i, i_start), (_, j, j_start) in zip(ends[::2], ends[1::2], strict=True):
        if i_start == j_start:
            raise ArithmeticError("the polygon crosses itself")
        (first, then) = (j, i) if i_start else (i, j)
        follows[first] = then
    pieces = []
    while follows:
        first, then = follows.popitem()
        rim = list(chains[first])
        while then != first:
            rim += chains[then]
            then = follows.pop(then)
        pieces.append(_ring(rim))
    return sorted(pieces, key=lambda piece: [Fraction(c, v[2]) for v in piece for c in v[:2]])


def _place(chain: Chain, *, at_start: bool, line: Line) -> tuple[Fraction, Fraction]:
    """Where along the line a chain's end stands, and how fast its edge runs along the line as it leaves it."""
    end, inner = (chain[0], chain[1]) if at_start else (chain[-1], chain[-2])
    along = (line[1], -line[0], 0)
    here = Fraction(side(along, end), end[2])
    there = Fraction(side(along, inner), inner[2])
    return here, (there - here) / Fraction(abs(side(line, inner)), inner[2])


def _ring(vertices: Sequence[Vertex]) -> Polygon:
    """The vertices without a repeat of the one before."""
    return tuple(v for i, v in enumerate(vertices) if v != vertices[i - 1])


def is_convex(polygon: Polygon) -> bool:
    """True when no corner of the anticlockwise polygon turns right."""
    n = len(polygon)
    return all(cross(polygon[i - 2], polygon[i - 1], polygon[i]) >= 0 for i in range(n))


def overlap(p: Polygon, q: Polygon) -> bool:
    """True when the insides of two simple anticlockwise polygons meet (touching rims do not count)."""
    return any(_convex_overlap(a, b) for a in _convex_parts(p) for b in _convex_parts(q))


def _convex_overlap(p: Polygon, q: Polygon) -> bool:
    """Two convex polygons overlap unless an edge of one has all of the other on its outer side."""
    return not (_some_edge_parts(p, q) or _some_edge_parts(q, p))


def _some_edge_parts(p: Polygon, q: Polygon) -> bool:
    return any(all(cross(p[i - 1], p[i], v) <= 0 for v in q) for i in range(len(p)))


def _convex_parts(polygon: Polygon) -> list[Polygon]:
    """The polygon cut along the lines of its edges at hollow corners until every part is convex."""
    n = len(polygon)
    for i in range(n):
        a, b, c = polygon[i - 2], polygon[i - 1], polygon[i]
        if cross(a, b, c) < 0:
            edge = (a[1] * b[2] - b[1] * a[2], a[2] * b[0] - b[2] * a[0], a[0] * b[1] - b[0] * a[1])
            above, below = split(polygon, edge)
            return [part for piece in above + below for part in _convex_parts(piece)]
    return [polygon]
