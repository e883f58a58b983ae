"""Joining pieces of holes that meet into whole holes, with which pieces each came from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.faces import GRID
from geometry.punching import LEAST_AREA, Piece

Rings = tuple[np.ndarray, ...]  # the outer ring anticlockwise, then inner ones clockwise; not closed
Joined = tuple[Rings, Sequence[Piece]]

SAME = 1e-10  # coordinates of corners that two pieces share differ by less, in sheet widths


def stitched(pieces: Sequence[Piece]) -> list[Joined]:
    """Pieces on the flat sheet that lie side by side, joined along every edge that two of them have in common."""
    rings = _snapped([piece.ring for piece in pieces])
    joined: list[Joined] = []
    for members in _neighbourhoods(rings):
        sources = [pieces[i] for i in members]
        if len(members) == 1:
            joined.append(((sources[0].ring,), sources))
            continue
        region = shapely.coverage_union_all([shapely.Polygon(rings[i]) for i in members])
        if isinstance(region, shapely.Polygon):
            joined.append((rings_of(region), sources))
        else:
            joined += united([(piece, piece.region) for piece in sources])
    return joined


def _snapped(rings: Sequence[np.ndarray]) -> list[np.ndarray]:
    """The rings with coordinates that are the ``SAME`` made equal, so that shared corners are so to the last bit."""
    values = np.concatenate(rings).ravel()
    order = values.argsort()
    ascending = values[order]
    firsts = np.concatenate([[True], np.diff(ascending) > SAME])
    values[order] = ascending[firsts][firsts.cumsum() - 1]
    ends = np.cumsum([len(ring) for ring in rings])
    return [_unrepeated(ring) for ring in np.split(values.reshape(-1, 2), ends[:-1])]


def _unrepeated(ring: np.ndarray) -> np.ndarray:
    repeats = (ring == np.roll(ring, 1, axis=0)).all(axis=1)
    return ring[~repeats] if repeats.any() else ring


def _neighbourhoods(rings: Sequence[np.ndarray]) -> list[list[int]]:
    """Which rings hang together by edges that two of them run through, each its own way."""
    home = list(range(len(rings)))
    waiting: dict[tuple[tuple[float, ...], tuple[float, ...]], int] = {}
    for i, ring in enumerate(rings):
        points = [tuple(p) for p in ring.tolist()]
        for p, q in zip(points, points[1:] + points[:1], strict=True):
            neighbour = waiting.pop((q, p), None)
            if neighbour is None:
                waiting[p, q] = i
            elif home[neighbour] != home[i]:
                home = [home[i] if h == home[neighbour] else h for h in home]
    groups: dict[int, list[int]] = {}
    for i, h in enumerate(home):
        groups.setdefault(h, []).append(i)
    return list(groups.values())


def united(placed: Sequence[tuple[Piece, shapely.Polygon]]) -> list[Joined]:
    """Regions in one plane, whatever their lie, joined wherever they overlap or share a stretch of rim."""
    if not placed:
        return []
    regions = polygons_in(shapely.union_all([region for _, region in placed], grid_size=GRID))
    insides = shapely.point_on_surface([region for _, region in placed])
    sources: list[list[Piece]] = [[] for _ in regions]
    for (piece, _), home in zip(placed, shapely.STRtree(regions).nearest(insides), strict=True):
        sources[home].append(piece)
    for region, found in zip(regions, sources, strict=True):
        if not found:  # a piece that the overlay's grid has parted in two
            found.append(placed[int(shapely.distance(region, insides).argmin())][0])
    return [(rings_of(region), found) for region, found in zip(regions, sources, strict=True)]


def polygons_in(geometry: BaseGeometry, least: float = LEAST_AREA) -> list[shapely.Polygon]:
    """The polygons of an overlay's result that are larger than ``least``."""
    return [part for part in _parts(geometry) if isinstance(part, shapely.Polygon) and part.area > least]


def _parts(geometry: BaseGeometry) -> np.ndarray:
    """The geometry's parts; those of a collection may be several in turn."""
    parts = shapely.get_parts(geometry)
    return shapely.get_parts(parts) if geometry.geom_type == "GeometryCollection" else parts


def rings_of(region: shapely.Polygon) -> Rings:
    """A polygon's rings: the outer anticlockwise, inner ones clockwise, none closed."""
    turned = shapely.orient_polygons(region)
    return tuple(shapely.get_coordinates(ring)[:-1] for ring in (turned.exterior, *turned.interiors))
