"""Punching: outlines in the folded plane, and what each leaves on every layer under it.

Most layers lie well under a punch or well clear of it, which one table of distances tells for all layers at once. Only
where a layer's edge runs through a punch is anything cut (``geometry.clipping``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import cos, pi, sin, sqrt
from typing import NamedTuple

import numpy as np
import shapely

from geometry.clipping import NEAR, Part, parts_of
from geometry.errors import OffPaperError
from geometry.faces import GRID, Face, State
from geometry.shapes import SHAPES
from geometry.spec import Punch

LEAST_AREA = 1e-9  # less than this is no hole but a touch

MOST_PARTS = 1000  # more than an outline falls into on one face

_QUARTER_TURNS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))

Circle = tuple[float, float, float]  # its centre's x and y, and its radius


class Piece(NamedTuple):
    """What one punch leaves on one face.

    ``ring`` is its outline on the flat sheet (N x 2, anticlockwise). ``whole`` is True when the punch lies inside the
    face, clear of its edges; other pieces may meet a neighbour's along their ``seams``: the edges of the ring, named by
    the vertex each ends at, that lie on the face's rim (not known of faces that are not convex). Pieces of the same
    ``part`` of a punch lie on one another in the folded plane.
    """

    ring: np.ndarray
    punch: int
    face: int
    whole: bool
    seams: tuple[int, ...] = ()
    part: int = 0

    @property
    def region(self) -> shapely.Polygon:
        return shapely.Polygon(self.ring)


def outline_of(punch: Punch) -> np.ndarray:
    """The punch's outline in the folded plane: N x 2 floats, anticlockwise."""
    if punch.shape == "outline":
        shape = np.array([[float(x), float(y)] for x, y in punch.points])
        if not shapely.LinearRing(shape).is_ccw:
            shape = shape[::-1]
    else:
        shape = SHAPES[punch.shape].outline
    if punch.turn:
        c, s = _direction(punch)
        shape = shape @ np.array([[c, s], [-s, c]])
    x, y, size = punch.lies
    return shape * size + np.array((x, y))


def circle_about(punch: Punch) -> Circle:
    """A circle that holds the whole punch."""
    reach = 2 * sqrt(2) if punch.shape == "outline" else 0.5  # an outline's points are at most 2 off, each way
    x, y, size = punch.lies
    return x, y, reach * size + NEAR


def _direction(punch: Punch) -> tuple[float, float]:
    """Cosine and sine of the turn, exact for quarter turns."""
    turn = punch.turn % 360
    if turn % 90 == 0:
        return _QUARTER_TURNS[int(turn // 90)]
    angle = float(turn) * pi / 180
    return cos(angle), sin(angle)


def pieces_of(state: State, outlines: Sequence[np.ndarray], circles: Sequence[Circle]) -> tuple[Piece, ...]:
    """The pieces that outlines in the folded plane leave on every face, punch by punch.

    ``circles`` hold the outlines (see ``circle_about``). Raises ``PunchError`` for an outline that misses the paper.
    """
    if not outlines:
        return ()
    points = np.concatenate([*outlines, [circle[:2] for circle in circles]])
    flat = state.flattened(points)
    under = layers_under(state, [reach for *_, reach in circles], flat[-len(circles) :])
    flat = flat.view(float).reshape(len(points), -1, 2)
    turned = [moved.bit_count() & 1 for moved in state.moved]
    hollow = [] if state.sheet_is_convex else [f for f, face in enumerate(state.faces) if not face.is_convex]
    pieces: list[Piece] = []
    end = 0
    for k, (outline, (whole, doubtful)) in enumerate(zip(outlines, under, strict=True)):
        start, end = end, end + len(outline)
        found = [Piece(flat[start:end, f][:: -1 if turned[f] else 1], k, f, True) for f in whole]
        crossed = [f for f in doubtful if f not in hollow]
        if crossed:
            found += _placed(state, k, parts_of(state, points[start:end].view(complex)[:, 0], crossed))
        for f in hollow:  # they may hold what is beyond one of their edges
            if f not in whole and _bounds_meet(state, f, circles[k]):
                found += _on_hollow_face(state.faces[f], f, outline, k)
        if not found:
            raise OffPaperError(f"Punch {k + 1} does not touch the folded paper.", punch=k)
        pieces += found
    return tuple(pieces)


def _bounds_meet(state: State, f: int, circle: Circle) -> bool:
    """True when a circle meets the bounds of a face where it lies now."""
    rim, (x, y, r) = state.places[state.corners.starts[f] : state.corners.ends[f]], circle
    return bool(rim.real.min() < x + r and x - r < rim.real.max() and rim.imag.min() < y + r and y - r < rim.imag.max())


def layers_under(state: State, reaches: Sequence[float], centres: np.ndarray) -> Iterator[tuple[list[int], list[int]]]:
    """For each circle, the faces on which it lies whole, and those with an edge that it may meet (convex faces only).

    ``centres`` lie where every face has them on the flat sheet (N x F complex).
    """
    for reach, depths in zip(reaches, state.depths_of(centres).tolist(), strict=True):
        whole = [f for f, depth in enumerate(depths) if depth > reach]
        yield whole, [f for f, depth in enumerate(depths) if -reach < depth <= reach]


def _placed(state: State, punch: int, parts: Iterable[Part]) -> Iterator[Piece]:
    """Parts of an outline on the flat sheet, on each face that has them; mere touches are left out."""
    placed = [
        (f, part, 0 if part.whole else number)
        for number, part in enumerate(parts, 1)
        if part.whole or _is_large(part.at)
        for f in part.faces
    ]
    if not placed:
        return
    counts = [len(part.at) for _, part, _ in placed]
    faces = np.repeat([f for f, *_ in placed], counts)
    points = np.concatenate([part.at for _, part, _ in placed]).view(float).reshape(-1, 2)
    rings = state.flattened_each(points, faces)
    end = 0
    for (f, part, number), count in zip(placed, counts, strict=True):
        start, end = end, end + count
        ring, seams = rings[start:end], part.seams
        if state.moved[f].bit_count() & 1:  # the edge that ended at a vertex begins there, the other way round
            ring, seams = ring[::-1], tuple([-i % count for i in seams])
        yield Piece(ring, punch, f, part.whole, seams, number)


def _is_large(at: np.ndarray) -> bool:
    """True when a ring holds more than ``LEAST_AREA``."""
    z = at.conj()
    return float((z[:-1] * at[1:]).imag.sum() + (z[-1] * at[0]).imag) > 2 * LEAST_AREA


def _on_hollow_face(face: Face, f: int, outline: np.ndarray, k: int) -> Iterator[Piece]:
    """The parts of an outline on a face that is not convex."""
    paper, punch = shapely.Polygon(face.outline_xy), shapely.Polygon(face.flatten(outline))
    whole = shapely.contains_properly(paper, punch) and paper.exterior.distance(punch) > NEAR
    region = punch if whole else shapely.intersection(punch, paper, grid_size=GRID)
    for number, part in enumerate(shapely.get_parts(region), f * MOST_PARTS + 1):
        if part.geom_type == "Polygon" and part.area > LEAST_AREA:
            ring = shapely.get_coordinates(shapely.orient_polygons(part))[:-1]
            yield Piece(ring, k, f, whole=bool(whole), part=0 if whole else -number)
