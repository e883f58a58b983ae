"""Path text of outlines and lines, the same bytes for the same drawn region.

Outlines are rounded to whole units, hold no vertex that draws nothing, begin at their leftmost (then topmost) vertex,
run one way round, and are sorted by their text. So nothing tells how, or in which order, a region was worked out: only
what it looks like. Numbers are set in columns of four digits, which also makes them quick to write: they are looked up,
not formatted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import floor, hypot
from typing import cast

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from geometry.pictures.frame import Frame

CLOSE = 1e-3  # units: a vertex nearer than this to the line of its neighbours is no corner
COLUMNS = np.array([b"%-5d" % n for n in range(10_000)], dtype="S5")
VERTEX = 2 * COLUMNS.dtype.itemsize  # characters of one vertex in columns

Vertices = list[tuple[float, float]]


def outline_path(frame: Frame, regions: Sequence[Polygon]) -> str:
    """Path text of polygons, rings within them included (to be filled by the even-odd rule); "" for none."""
    if len(regions) == 0:
        return ""
    rings = _oriented_rings(np.fromiter(regions, dtype=object, count=len(regions)))
    counts = shapely.get_num_coordinates(rings)
    ends = counts.cumsum()
    starts = ends - counts
    scaled = frame.scale(shapely.get_coordinates(rings))
    rounded = np.floor(scaled)
    first = _first_corners(rounded, starts, counts)
    texts = _in_columns(rounded.astype(int), starts.tolist(), first, (ends - 1).tolist())
    for ring in _with_flat_corners(scaled, starts, ends):
        texts[ring] = _careful(scaled[starts[ring] : ends[ring] - 1])
    texts.sort()
    return "M" + "zM".join(texts) + "z"


def _oriented_rings(regions: np.ndarray) -> np.ndarray:
    """The rings of polygons, outer and inner ones alike, as polygons of their own that run anticlockwise."""
    if any(shapely.get_num_interior_rings(regions).tolist()):
        regions = cast(np.ndarray, shapely.polygons(shapely.get_rings(regions)))
    return shapely.orient_polygons(regions)


def _first_corners(rounded: np.ndarray, starts: np.ndarray, counts: np.ndarray) -> list[int]:
    """For each ring, the index of its leftmost vertex, the topmost of several (complex numbers are ordered so)."""
    vertices = rounded.view(complex)[:, 0]
    lowest = np.minimum.reduceat(vertices, starts)
    found = np.flatnonzero(vertices == lowest.repeat(counts))
    return found[found.searchsorted(starts)].tolist()


def _in_columns(units: np.ndarray, starts: list[int], first: list[int], ends: list[int]) -> list[str]:
    """The text of each ring, which ends by repeating its first vertex, begun at its first corner."""
    if units.view(np.uint64).max() >= len(COLUMNS):  # a negative number reads as a huge one
        ring = zip(starts, first, ends, strict=True)
        return [_written([*units[f:e].tolist(), *units[s:f].tolist()]) for s, f, e in ring]
    text, v = COLUMNS.take(units).tobytes().decode("ascii"), VERTEX
    return [text[f * v : e * v] + text[s * v : f * v] for s, f, e in zip(starts, first, ends, strict=True)]


def _with_flat_corners(scaled: np.ndarray, starts: np.ndarray, ends: np.ndarray) -> list[int]:
    """The rings in which some vertex, once rounded, might lie on the line of its neighbours.

    Rounding moves the cross product of two edges by at most the sum of their spans. Each ring's closing vertex stands
    for its first one: the step that would lead on to the next ring is replaced by the ring's own first step.
    """
    vertices = scaled.view(complex)[:, 0]
    step = np.empty_like(vertices)
    np.subtract(vertices[1:], vertices[:-1], out=step[:-1])
    step[ends - 1] = step[starts]
    turn = np.abs((step[:-1].conj() * step[1:]).imag)
    turn[starts[1:] - 1] = np.inf
    spans = np.abs(step.view(float))
    if turn.min() > 4 * spans.max() + 2:
        return []  # the common case: no edge is so long that the shortest turn might vanish
    span = spans[0::2] + spans[1::2]
    flat = np.flatnonzero(turn < span[:-1] + span[1:] + 2) + 1
    return sorted(set(ends.searchsorted(flat, side="right").tolist()))


def _careful(scaled: np.ndarray) -> str:
    """The text of one ring (not closed) without the vertices that draw nothing, neither before nor after rounding."""
    rounded = [(float(floor(x)), float(floor(y))) for x, y in corners(scaled.tolist(), CLOSE)]
    ring = corners(rounded, 0.0)
    if _twice_area(ring) > 0:  # y points down, so anticlockwise is negative
        ring.reverse()
    start = ring.index(min(ring))
    return _written(ring[start:] + ring[:start])


def corners(ring: Vertices, close: float) -> Vertices:
    """The vertices that are farther than ``close`` from the line of their neighbours (three at least are kept)."""
    kept = list(ring)
    i = 0
    passed = 0  # vertices in a row found to be corners
    while passed < len(kept) and len(kept) > 3:
        i %= len(kept)
        if _is_flat(kept[i - 1], kept[i], kept[(i + 1) % len(kept)], close):
            del kept[i]
            i, passed = max(i - 1, 0), 0
        else:
            i, passed = i + 1, passed + 1
    return kept


def _is_flat(p: Sequence[float], q: Sequence[float], r: Sequence[float], close: float) -> bool:
    (ax, ay), (bx, by) = (r[0] - p[0], r[1] - p[1]), (q[0] - p[0], q[1] - p[1])
    length = hypot(ax, ay)
    return hypot(bx, by) <= close or abs(ax * by - ay * bx) <= close * length


def _twice_area(ring: Vertices) -> float:
    return sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(ring, ring[1:] + ring[:1], strict=True))


def _written(vertices: Iterable[Sequence[float]]) -> str:
    """Vertices as text, in the same columns."""
    return "".join(f"{int(x):<4} {int(y):<4} " for x, y in vertices)


def line_path(frame: Frame, lines: Iterable[np.ndarray]) -> str:
    """Path text of lines, each N x 2 in sheet widths, sorted and each begun at its lesser end (or least vertex)."""
    return "".join(sorted(_line(frame.place(xy)) for xy in lines))


def _line(units: np.ndarray) -> str:
    if (units[0] == units[-1]).all():  # it closes, and might begin anywhere
        least = int(np.lexsort((units[:-1, 1], units[:-1, 0]))[0])
        units = np.concatenate([units[least:-1], units[: least + 1]])
    forth, back = (" ".join(map(str, u.ravel().tolist())) for u in (units, units[::-1]))
    return "M" + min(forth, back)


def lines_in(geometry: BaseGeometry) -> list[np.ndarray]:
    """The lines of a geometry, joined where they run on, each N x 2."""
    parts = [part for part in shapely.get_parts(geometry).tolist() if not part.is_empty]
    lines = [part for part in parts if part.geom_type in ("LineString", "LinearRing")]
    if not lines:
        return []
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return [shapely.get_coordinates(line) for line in shapely.get_parts(merged)]
