"""The rim about convex polygons that lie over one another, exactly and without an overlay."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from geometry.plane import Polygon, Vertex, line_of, reduce_triple, twice_area


def rims_about(polygons: Sequence[Polygon]) -> list[Polygon] | None:
    """The rings about convex anticlockwise polygons together: the outer one, then those about what is left open.

    None when they fall apart, meet somewhere in a point only, or have corners closer together than floats can tell.
    """
    if len(polygons) == 1:  # most folded papers have a face that covers all others
        return list(polygons)
    follows: dict[Vertex, Vertex] = {}
    for i, polygon in enumerate(polygons):
        p = polygon[-1]
        for q in polygon:
            for start, end in _bare(p, q, polygons[:i], polygons[i + 1 :]):
                if start in follows:
                    return None
                follows[start] = end
            p = q
    rings = []
    while follows:
        start, then = follows.popitem()
        ring = [start]
        while then != start:
            ring.append(then)
            if then not in follows:
                return None
            then = follows.pop(then)
        rings.append(tuple(ring))
    if len(rings) > 1:
        rings.sort(key=twice_area, reverse=True)
    return None if len(rings) > 1 and twice_area(rings[1]) > 0 else rings


def _bare(p: Vertex, q: Vertex, before: Sequence[Polygon], after: Sequence[Polygon]) -> Iterator[tuple[Vertex, Vertex]]:
    """The stretches of an edge that no other polygon covers. What several polygons have in common is the first's."""
    a, b, c = line_of(p, q)
    axis = 0 if abs(b) >= abs(a) else 1
    sign = 1 if (b if axis == 0 else -a) > 0 else -1
    first, last = sign * p[axis] / p[2], sign * q[axis] / q[2]  # equal places are equal floats, each rounded once
    chords = []
    for n, polygon in enumerate((*before, *after)):
        at = [a * x + b * y + c * w for x, y, w in polygon]
        low = min(at)
        if low > 0 or max(at) < 0 or (low == 0 and n >= len(before)):
            continue
        met = [(sign * v[axis] / v[2], v) for v in _meetings(polygon, at)]
        (start, u), (stop, v) = min(met), max(met)
        if start <= first and last <= stop:
            return
        if start < last and first < stop:
            chords.append((start, stop, u, v))
    chords.sort()
    for start, stop, u, v in chords:
        if start > first:
            yield p, reduce_triple(u)
        if stop > first:
            p, first = reduce_triple(v), stop
    if first < last:
        yield p, q


def _meetings(polygon: Polygon, at: Sequence[int]) -> Iterator[Vertex]:
    """Where a polygon's rim meets the line to which its vertices lie at ``at``; not reduced."""
    p, s = polygon[-1], at[-1]
    for q, t in zip(polygon, at, strict=True):
        if t == 0:
            yield q
        elif s < 0 < t or t < 0 < s:
            m, n = abs(t), abs(s)
            yield (m * p[0] + n * q[0], m * p[1] + n * q[1], m * p[2] + n * q[2])
        p, s = q, t
