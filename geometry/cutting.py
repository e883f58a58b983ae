"""Cutting a simple polygon along a line, exactly; joining its pieces again; and whether two polygons overlap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from geometry.plane import Line, Polygon, Vertex, cross, crossing, line_of, side, sides

Chain = list[Vertex]


def split(polygon: Polygon, line: Line) -> tuple[list[Polygon], list[Polygon]]:
    """The pieces of a simple anticlockwise polygon on the positive and on the negative side of a line.

    A polygon that is not convex may fall into several pieces on a side. A polygon that the line does not cross comes
    back as it is, on its side.
    """
    a, b, c = line
    above: Chain = []
    below: Chain = []
    on = 0
    p = polygon[-1]
    x, y, w = p
    s = a * x + b * y + c * w
    for q in polygon:  # one pass, since folding does little else
        x, y, w = q
        t = a * x + b * y + c * w
        if t == 0:
            above.append(q)
            below.append(q)
            on += 1
        elif t > 0:
            if s < 0:
                above.append(met := crossing(p, q, s, t))
                below.append(met)
            above.append(q)
        else:
            if s > 0:
                above.append(met := crossing(p, q, s, t))
                below.append(met)
            below.append(q)
        p, s = q, t
    if len(below) == on:
        return [polygon], []
    if len(above) == on:
        return [], [polygon]
    if len(above) + len(below) + on == len(polygon) + 4:  # the rim meets the line twice, as any convex rim does
        return [tuple(above)], [tuple(below)]
    return split_at(polygon, sides(line, polygon), line)


def split_at(polygon: Polygon, at: Sequence[int], line: Line) -> tuple[list[Polygon], list[Polygon]]:
    """``split``, when the sides of the vertices are known (or decided: those given 0 count as on the line)."""
    if min(at) >= 0:
        return [polygon], []
    if max(at) <= 0:
        return [], [polygon]
    above, below = _chains(polygon, at)
    return _close(above, line), _close(below, line)


def _chains(polygon: Polygon, at: Sequence[int]) -> tuple[list[Chain], list[Chain]]:
    """The runs of the rim above and below the line, each from where it leaves the line to where it returns."""
    ring: list[tuple[Vertex, int]] = []
    for i, v in enumerate(polygon):
        before = at[i - 1]
        if before < 0 < at[i] or at[i] < 0 < before:
            ring.append((crossing(polygon[i - 1], v, before, at[i]), 0))
        ring.append((v, at[i]))
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
    here = _along(line, end)
    return here, (_along(line, inner) - here) / Fraction(abs(side(line, inner)), inner[2])


def _along(line: Line, v: Vertex) -> Fraction:
    """How far along the line a vertex stands (or its foot), in steps of the line's own."""
    return Fraction(line[1] * v[0] - line[0] * v[1], v[2])


def _ring(vertices: Sequence[Vertex]) -> Polygon:
    """The vertices without a repeat of the one before."""
    return tuple(v for i, v in enumerate(vertices) if v != vertices[i - 1])


def join(pieces: Sequence[Polygon], line: Line) -> list[Polygon]:
    """Pieces of one polygon that a cut along the line parted, joined again wherever they meet on it."""
    marks = sorted({v for piece in pieces for v in piece if side(line, v) == 0}, key=lambda v: _along(line, v))
    order = {v: i for i, v in enumerate(marks)}
    rim: set[tuple[Vertex, Vertex]] = set()
    for piece in pieces:
        for p, q in zip(piece, piece[1:] + piece[:1], strict=True):
            for edge in _steps(p, q, marks, order):
                if edge[::-1] in rim:
                    rim.remove(edge[::-1])
                else:
                    rim.add(edge)
    follows = dict(rim)
    joined = []
    while follows:
        first, then = follows.popitem()
        ring = [first]
        while then != first:
            ring.append(then)
            then = follows.pop(then)
        joined.append(_straightened(ring, order))
    return sorted(joined, key=lambda ring: [Fraction(c, v[2]) for v in ring for c in v[:2]])


def _steps(p: Vertex, q: Vertex, marks: list[Vertex], order: dict[Vertex, int]) -> Iterator[tuple[Vertex, Vertex]]:
    """An edge, cut at every mark it runs over when it lies on the line."""
    i, j = order.get(p), order.get(q)
    if i is None or j is None:
        yield p, q
        return
    step = 1 if i < j else -1
    for k in range(i, j, step):
        yield marks[k], marks[k + step]


def _straightened(ring: list[Vertex], on_line: dict[Vertex, int]) -> Polygon:
    """The ring without those vertices on the line at which it no longer turns, starting at its least vertex."""
    n = len(ring)
    left = [v for i, v in enumerate(ring) if v not in on_line or cross(ring[i - 1], v, ring[(i + 1) % n])]
    start = left.index(min(left, key=lambda v: (Fraction(v[0], v[2]), Fraction(v[1], v[2]))))
    return tuple(left[start:] + left[:start])


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
    return any(max(sides(line_of(p[i - 1], p[i]), q)) <= 0 for i in range(len(p)))


def _convex_parts(polygon: Polygon) -> list[Polygon]:
    """The polygon cut along the lines of its edges at hollow corners until every part is convex."""
    n = len(polygon)
    for i in range(n):
        a, b, c = polygon[i - 2], polygon[i - 1], polygon[i]
        if cross(a, b, c) < 0:
            above, below = split(polygon, line_of(a, b))
            return [part for piece in above + below for part in _convex_parts(piece)]
    return [polygon]
