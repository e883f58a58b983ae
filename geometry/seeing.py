"""What of the holes can be seen from the front, when folds that took some layers left some holes behind paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.clipping import NEAR, covering
from geometry.faces import GRID, State
from geometry.joining import Placed, Shared, polygons_in
from geometry.punching import Circle, Piece, layers_under

HIDDEN = 1e-12  # area: less than this left open is nothing left open


def seen_pieces(state: State, on_faces: Sequence[Sequence[Placed]], to_open: Sequence[int]) -> list[Shared]:
    """Of the pieces on each face (bottom to top, in the state's plane), whatever no paper above covers.

    ``to_open`` tells by bits, for each face that pieces may name, which folds yet to be opened moved it.

    Looked at hole by hole, from the top layer down until paper hides the rest: most layers cover a hole whole or lie
    clear of it, so that few overlays are made, and those of small regions.
    """
    regions, owners = _regions(on_faces, to_open)
    if not regions:
        return []
    near: list[list[int]] = [[] for _ in regions]
    for i, j in shapely.STRtree(regions).query(regions, predicate="intersects").T.tolist():
        near[i].append(j)
    circles = [_circle_about(region) for region in regions]
    centres = state.flattened(np.array([circle[:2] for circle in circles]))
    under = layers_under(state, [reach for *_, reach in circles], centres)
    hollow = [] if state.sheet_is_convex else [f for f, face in enumerate(state.faces) if not face.is_convex]
    seen: list[Shared] = []
    for i, (region, (whole, doubtful)) in enumerate(zip(regions, under, strict=True)):
        covered: BaseGeometry = shapely.Polygon()
        in_view: list[Piece] = []  # those that nothing covers any of
        over = dict.fromkeys(whole, True) | dict.fromkeys(hollow, False)
        crossed = [f for f in doubtful if f not in hollow]
        if crossed:
            ring = shapely.get_coordinates(region.exterior)[:-1].view(complex)[:, 0]
            over |= covering(state, ring, crossed)
        for f in sorted(over, reverse=True):
            own = owners[i].get(f, [])
            if covered.is_empty:
                in_view += own
            elif own:
                seen += [(own, part) for part in polygons_in(_minus(region, covered))]
            holes = [j for j in near[i] if f in owners[j]]
            if over[f] and not holes:
                break
            if i not in holes:
                covered = _with_paper(covered, state, f, region, [regions[j] for j in holes])
                if region.area - covered.area < HIDDEN:
                    break
        if in_view:
            seen.append((in_view, region))
    return seen


Owners = dict[int, list[Piece]]  # the pieces that make a region, by the faces they are on


def _regions(
    on_faces: Sequence[Sequence[Placed]], to_open: Sequence[int]
) -> tuple[list[shapely.Polygon], list[Owners]]:
    """The different regions, and whose they are: pieces that lie on one another are one region."""
    regions: list[shapely.Polygon] = []
    owners: list[Owners] = []
    known: dict[tuple[int, int, int], int] = {}
    for f, placed in enumerate(on_faces):
        for piece, region in placed:
            place = piece.punch, piece.part, to_open[piece.face]
            i = known.setdefault(place, len(regions))
            if i == len(regions):
                regions.append(region)
                owners.append({})
            owners[i].setdefault(f, []).append(piece)
    return regions, owners


def _circle_about(region: shapely.Polygon) -> Circle:
    x0, y0, x1, y1 = region.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2, float(np.hypot(x1 - x0, y1 - y0)) / 2 + NEAR


def _minus(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    return shapely.difference(region, other, grid_size=GRID)


def _with_paper(
    covered: BaseGeometry, state: State, f: int, region: shapely.Polygon, holes: Sequence[shapely.Polygon]
) -> BaseGeometry:
    """What of a region is covered when a face with holes in it is too."""
    paper = shapely.intersection(shapely.Polygon(state.faces[f].folded_xy), region, grid_size=GRID)
    for hole in holes:
        paper = _minus(_area(paper), hole)
    return _area(shapely.union(covered, _area(paper), grid_size=GRID))


def _area(geometry: BaseGeometry) -> BaseGeometry:
    """Only the polygons of an overlay's result; what shrank to lines and points goes."""
    return shapely.MultiPolygon(polygons_in(geometry, least=0.0))
