"""Joining pieces of holes that meet into whole holes, with which pieces each came from."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.faces import GRID
from geometry.punching import LEAST_AREA, Piece

Rings = tuple[np.ndarray, ...]  # the outer ring anticlockwise, then inner ones clockwise; not closed
Joined = tuple[Rings, Sequence[Piece]]
Placed = tuple[Piece, shapely.Polygon]  # a piece, and its region in the plane of some state
Shared = tuple[Sequence[Piece], shapely.Polygon]  # pieces that lie on one another, and their region
Seam = tuple[int, int]  # a piece's place in a list, and the vertex of its ring at which the seam ends

SAME = 1e-10  # coordinates of corners that two pieces share differ by less, in sheet widths


def stitched(pieces: Sequence[Piece]) -> list[Joined]:
    """Pieces on the flat sheet that lie side by side, joined along every seam that two of them have in common."""
    partners, places = _partners(pieces)
    joined: list[Joined] = []
    for members in _groups(len(pieces), partners):
        sources = [pieces[i] for i in members]
        rings = (sources[0].ring,) if len(members) == 1 else _rims(pieces, members, partners, places)
        joined += [(rings, sources)] if rings else united([((piece,), piece.region) for piece in sources])
    return joined


def _partners(pieces: Sequence[Piece]) -> tuple[dict[Seam, Seam], dict[Seam, int]]:
    """Which seams two pieces run along, each its own way; and a number for the place where each of these ends."""
    seams = [(home, i) for home, piece in enumerate(pieces) for i in sorted(piece.seams)]
    if not seams:
        return {}, {}
    firsts = list(accumulate([len(piece.ring) for piece in pieces], initial=0))
    ends = [firsts[home] + i for home, i in seams]
    starts = [end - 1 if i else firsts[home + 1] - 1 for end, (home, i) in zip(ends, seams, strict=True)]
    corners = np.concatenate([piece.ring for piece in pieces])[starts + ends]
    ranks = _ranks(corners.ravel())
    numbers = (ranks[::2] * len(ranks) + ranks[1::2]).tolist()
    ways = list(zip(numbers[: len(seams)], numbers[len(seams) :], strict=True))
    found = dict(zip(ways, seams, strict=True))
    partners = {seam: found[to, at] for seam, (at, to) in zip(seams, ways, strict=True) if (to, at) in found}
    return partners, {seam: to for seam, (_, to) in zip(seams, ways, strict=True)}


def _ranks(values: np.ndarray) -> np.ndarray:
    """Which of the different values each value is, counted upwards; neighbours within ``SAME`` count as one."""
    order = values.argsort()
    ascending = values[order]
    ranks = np.empty(len(values), dtype=int)
    ranks[order[0]] = 0
    ranks[order[1:]] = (ascending[1:] - ascending[:-1] > SAME).cumsum()
    return ranks


def _groups(count: int, partners: dict[Seam, Seam]) -> list[list[int]]:
    """The pieces, by their places in a list, that hang together."""
    home = list(range(count))

    def root(i: int) -> int:
        while home[i] != i:
            home[i] = i = home[home[i]]
        return i

    for (i, _), (j, _) in partners.items():
        home[root(i)] = root(j)
    groups: dict[int, list[int]] = {}
    for i in range(count):
        groups.setdefault(root(i), []).append(i)
    return list(groups.values())


def _rims(
    pieces: Sequence[Piece], members: Sequence[int], partners: dict[Seam, Seam], places: dict[Seam, int]
) -> Rings:
    """The rings about pieces that hang together; none when a ring touches itself, which a hole's may not.

    Walked along a piece's ring up to a seam that another shares, and on along the other's.
    """
    waiting: dict[Seam, Seam] = {}  # from the end of each shared seam to the next such seam of the same piece
    for home in members:
        shared = [(home, i) for i in sorted(pieces[home].seams) if (home, i) in partners]
        waiting |= zip(shared, shared[1:] + shared[:1], strict=True)
    rings = []
    passed: list[int] = []
    while waiting:
        seam = next(iter(waiting))
        runs = []
        while seam in waiting:
            following = waiting.pop(seam)
            run = _run(pieces[seam[0]].ring, seam[1], following[1])
            if run:
                runs += run
                passed.append(places[seam])
            seam = partners[following]
        if runs:
            rings.append(np.concatenate(runs))
    if len(set(passed)) < len(passed):
        return ()
    return _outer_first(rings)


def _run(ring: np.ndarray, start: int, seam: int) -> list[np.ndarray]:
    """The vertices from ``start`` up to, but not with, the one at which the seam begins that ends at ``seam``."""
    end = (seam or len(ring)) - 1
    if start <= end:
        return [ring[start:end]] if start < end else []
    return [ring[start:], ring[:end]]


def _outer_first(rings: list[np.ndarray]) -> Rings:
    """The outer ring and then the inner ones; none unless exactly one runs anticlockwise."""
    if len(rings) > 1:
        rings.sort(key=_area, reverse=True)
        if _area(rings[1]) > 0:
            return ()
    return _without_specks(rings)


def _without_specks(rings: list[np.ndarray]) -> Rings:
    """The rings but those inner ones that hold next to no paper."""
    return (*rings[:1], *[ring for ring in rings[1:] if -_area(ring) > LEAST_AREA])


def _area(ring: np.ndarray) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def united(placed: Sequence[Shared]) -> list[Joined]:
    """Regions in one plane, whatever their lie, joined wherever they overlap or share a stretch of rim."""
    if not placed:
        return []
    regions = polygons_in(shapely.union_all([region for _, region in placed], grid_size=GRID))
    insides = shapely.point_on_surface([region for _, region in placed])
    sources: list[list[Piece]] = [[] for _ in regions]
    for (pieces, _), home in zip(placed, shapely.STRtree(regions).nearest(insides), strict=True):
        sources[home] += pieces
    for region, found in zip(regions, sources, strict=True):
        if not found:  # a piece that the overlay's grid has parted in two
            found += placed[int(shapely.distance(region, insides).argmin())][0]
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
    rings = shapely.get_rings(shapely.orient_polygons(region))
    return _without_specks([shapely.get_coordinates(ring)[:-1] for ring in rings])
