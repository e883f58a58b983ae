"""Path text of outlines and lines, the same bytes for the same drawn region.

Outlines are rounded to whole units, each begins at its leftmost (then topmost) vertex and runs one way round, and they
are sorted by their text. So nothing tells how, or in which order, a region was worked out: only what it looks like.
Numbers are set in columns of four digits, which also makes them quick to write: they are looked up, not formatted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from geometry.pictures.frame import Frame

STRAIGHT = 1e-10  # below this a corner's cross product (sheet widths squared) calls for a closer look
CLOSE = 1e-7  # vertices nearer than this to the line of their neighbours are no corners
COLUMNS = np.array([b"%-5d" % n for n in range(10_000)], dtype="S5")
VERTEX = 2 * COLUMNS.dtype.itemsize  # bytes of one vertex in columns


def outline_path(frame: Frame, regions: Sequence[Polygon]) -> str:
    """Path text of polygons, rings within them included (to be filled by the even-odd rule); "" for none."""
    if len(regions) == 0:
        return ""
    rings = _oriented_rings(np.asarray(regions, dtype=object))
    xy, ring_of = shapely.get_coordinates(rings, return_index=True)
    last = np.flatnonzero(ring_of[1:] != ring_of[:-1])
    if _has_flat_corners(xy, last):
        rings = shapely.simplify(shapely.normalize(rings), CLOSE)
        xy, ring_of = shapely.get_coordinates(rings, return_index=True)
        last = np.flatnonzero(ring_of[1:] != ring_of[:-1])
    units = frame.place(xy)
    starts = np.concatenate(([0], last + 1))
    ends = np.append(last, len(xy) - 1)  # where each ring repeats its first vertex
    first = _first_corners(units, starts)
    return _write_rings(units, starts.tolist(), first, ends.tolist())


def _oriented_rings(regions: np.ndarray) -> np.ndarray:
    """The rings of polygons, outer ones anticlockwise; polygons themselves where they have no inner rings."""
    oriented = shapely.orient_polygons(regions)
    if shapely.get_num_interior_rings(oriented).any():
        return shapely.get_rings(oriented)
    return oriented


def _has_flat_corners(xy: np.ndarray, last: np.ndarray) -> bool:
    """True when some vertex lies on the line of its neighbours (or on one of them) and draws nothing."""
    step = xy[1:] - xy[:-1]
    turn = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    turn[last - 1] = turn[last] = 1.0  # across from one ring to the next
    first, final = np.concatenate(([0], last + 1)), np.append(last - 1, len(step) - 1)
    into, out = step[final], step[first]
    closing = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    return bool(np.abs(turn).min(initial=1.0) < STRAIGHT or np.abs(closing).min() < STRAIGHT)


def _first_corners(units: np.ndarray, starts: np.ndarray) -> list[int]:
    """For each ring, the index of its leftmost vertex, the topmost of several."""
    keys = (units[:, 0] << 20) + units[:, 1]
    lowest = np.minimum.reduceat(keys, starts)
    found = np.flatnonzero(keys == np.repeat(lowest, np.diff(np.append(starts, len(keys)))))
    return found[np.searchsorted(found, starts)].tolist()


def _write_rings(units: np.ndarray, starts: list[int], first: list[int], ends: list[int]) -> str:
    text, size = _columns(units)
    if not size:
        words = text.split()
        rings = [
            " ".join(words[2 * f : 2 * e] + words[2 * s : 2 * f]) for s, f, e in zip(starts, first, ends, strict=True)
        ]
    else:
        rings = [
            text[f * size : e * size] + text[s * size : f * size] for s, f, e in zip(starts, first, ends, strict=True)
        ]
    rings.sort()
    return "M" + "zM".join(rings) + "z"


def _columns(units: np.ndarray) -> tuple[str, int]:
    """Whole numbers as text, and how many characters a vertex takes (0 when it varies)."""
    if units.min() < 0 or units.max() > 9999:
        return " ".join(map(str, units.ravel().tolist())), 0
    return COLUMNS[units].tobytes().decode("ascii"), VERTEX


def line_path(frame: Frame, lines: Iterable[np.ndarray]) -> str:
    """Path text of open lines, each N x 2 in sheet widths, sorted and each begun at its lesser end."""
    return "".join(sorted(_open_line(frame.place(xy)) for xy in lines))


def _open_line(units: np.ndarray) -> str:
    forth, back = (" ".join(map(str, u.ravel().tolist())) for u in (units, units[::-1]))
    return "M" + min(forth, back)


def polygons_in(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons of a geometry, whatever else an overlay left in it."""
    parts = shapely.get_parts(geometry).tolist()
    if any(part.geom_type.startswith(("Multi", "Geometry")) for part in parts):
        return [polygon for part in parts for polygon in polygons_in(part)]
    return [part for part in parts if part.geom_type == "Polygon" and not part.is_empty]


def lines_in(geometry: BaseGeometry) -> list[np.ndarray]:
    """The lines of a geometry, joined where they run on, each N x 2."""
    parts = [part for part in shapely.get_parts(geometry).tolist() if not part.is_empty]
    lines = [part for part in parts if part.geom_type in ("LineString", "LinearRing")]
    if not lines:
        return []
    merged = shapely.line_merge(shapely.MultiLineString(lines))
    return [shapely.get_coordinates(line) for line in shapely.get_parts(merged)]
