"""Joining pieces of holes that meet into whole holes, with which pieces each came from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.corners import Corners
from geometry.faces import GRID
from geometry.punching import LEAST_AREA, Piece

Rings = tuple[np.ndarray, ...]  # the outer ring anticlockwise, then inner ones clockwise; not closed
Joined = tuple[Rings, Sequence[Piece]]

SAME = 1e-10  # coordinates of corners that two pieces share differ by less, in sheet widths


def stitched(pieces: Sequence[Piece]) -> list[Joined]:
    """Pieces on the flat sheet that lie side by side, joined along every edge that two of them have in common."""
    rings = [piece.ring for piece in pieces]
    ranks, values = _ranked(np.concatenate(rings).ravel(), apart=SAME)
    corners = Corners(values[ranks].reshape(-1, 2), [len(ring) for ring in rings])
    homes = np.repeat(np.arange(len(rings)), corners.counts)
    regions = np.asarray(shapely.polygons(shapely.linearrings(corners.xy, indices=homes)))
    joined: list[Joined] = []
    for members in _neighbourhoods(ranks, corners, homes):
        sources = [pieces[i] for i in members]
        region = regions[members[0]] if len(members) == 1 else shapely.coverage_union_all(regions[members])
        if isinstance(region, shapely.Polygon):
            joined.append((rings_of(region) if len(members) > 1 else (sources[0].ring,), sources))
        else:
            joined += united([(piece, piece.region) for piece in sources])
    return joined


def _ranked(values: np.ndarray, *, apart: float) -> tuple[np.ndarray, np.ndarray]:
    """Which of the different values each value is, and these values; those not further ``apart`` count as one."""
    order = values.argsort()
    ascending = values[order]
    firsts = np.ones(len(values), dtype=bool)
    firsts[1:] = ascending[1:] - ascending[:-1] > apart
    ranks = np.empty(len(values), dtype=int)
    ranks[order] = firsts.cumsum() - 1
    return ranks, ascending[firsts]


def _neighbourhoods(ranks: np.ndarray, corners: Corners, homes: np.ndarray) -> list[list[int]]:
    """Which rings hang together by edges that two of them run through, each its own way.

    ``ranks`` tell coordinates apart, ``homes`` says to which ring each corner belongs.
    """
    size = len(ranks)
    at, _ = _ranked(ranks[::2] * size + ranks[1::2], apart=0)
    to = at[corners.nexts]
    ahead, back = at * size + to, to * size + at
    order = ahead.argsort()
    met = order[np.searchsorted(ahead, back, sorter=order).clip(max=len(at) - 1)]
    shared = (ahead[met] == back).nonzero()[0]
    home = list(range(len(corners.counts)))
    for i, j in zip(homes[shared].tolist(), homes[met[shared]].tolist(), strict=True):
        if home[i] != home[j]:
            home = [home[i] if h == home[j] else h for h in home]
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
