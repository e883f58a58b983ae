"""Punching: outlines in the folded plane, and what each leaves on every layer under it.

Most layers lie well under a punch or well clear of it, which one table of distances tells for all layers at once. Only
where a layer's edge runs through a punch is anything cut: exactly, in the folded plane, where the layers on both sides
of a crease have the same edge and so get the same corners.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import cos, isqrt, pi, sin, sqrt
from typing import NamedTuple

import numpy as np
import shapely

from geometry.corners import Corners
from geometry.cutting import split_at
from geometry.errors import PunchError
from geometry.faces import GRID, Face, State
from geometry.plane import Line, Polygon, line_of, sides
from geometry.shapes import SHAPES
from geometry.spec import Punch

NEAR = 1e-11  # closer than this to a face's edge, in sheet widths, is on the edge
LEAST_AREA = 1e-9  # less than this is no hole but a touch

_NEARS = 10**22  # 1 / NEAR, squared
_FINE = 1 << 48  # punched outlines become exact on this grid before they are cut
_QUARTER_TURNS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


class Piece(NamedTuple):
    """What one punch leaves on one face.

    ``ring`` is its outline on the flat sheet (N x 2, anticlockwise). ``whole`` is True when the punch lies inside the
    face, clear of its edges; other pieces may meet a neighbour's along a crease.
    """

    ring: np.ndarray
    punch: int
    face: int
    whole: bool

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
    return shape * float(punch.size) + (float(punch.at[0]), float(punch.at[1]))


def circle_about(punch: Punch) -> tuple[float, float, float]:
    """Centre and radius of a circle that holds the whole punch."""
    reach = 2 * sqrt(2) if punch.shape == "outline" else 0.5  # an outline's points are at most 2 off, each way
    return float(punch.at[0]), float(punch.at[1]), reach * float(punch.size) + NEAR


def _direction(punch: Punch) -> tuple[float, float]:
    """Cosine and sine of the turn, exact for quarter turns."""
    turn = punch.turn % 360
    if turn % 90 == 0:
        return _QUARTER_TURNS[int(turn // 90)]
    angle = float(turn) * pi / 180
    return cos(angle), sin(angle)


def pieces_of(state: State, outlines: Sequence[np.ndarray]) -> tuple[Piece, ...]:
    """The pieces that outlines in the folded plane leave on every face: the whole ones, then those that edges cut.

    Raises ``PunchError`` for an outline that misses the paper.
    """
    if not outlines:
        return ()
    points = Corners(np.concatenate(outlines), [len(outline) for outline in outlines])
    depths = state.edges[:, :2] @ points.xy.T + state.edges[:, 2:]  # of every point inside every edge
    least = np.minimum.reduceat(depths, points.starts, axis=1)
    most = np.maximum.reduceat(depths, points.starts, axis=1)
    whole = np.minimum.reduceat(least, state.corners.starts) > NEAR
    clear = np.minimum.reduceat(most, state.corners.starts) < NEAR  # all of it beyond one edge, if the face is convex
    flat = state.flattened(points.xy)
    pieces = [
        Piece(_anticlockwise(flat[f, points.starts[k] : points.ends[k]], state.faces[f]), k, f, whole=True)
        for k, f in zip(*whole.T.nonzero(), strict=True)
    ]
    hollow = [not (state.sheet_is_convex or face.is_convex) for face in state.faces]
    doubtful = ~whole & (~clear | np.array(hollow)[:, None])  # a hollow face may hold what is beyond one of its edges
    if doubtful.any():
        runs = (least < -NEAR) & (most > NEAR)  # which edges run through which outlines
        pieces += _cut_pieces(state, outlines, np.argwhere(doubtful).tolist(), runs)
    for k in set(range(len(outlines))).difference([piece.punch for piece in pieces]):
        raise PunchError(f"Punch {k + 1} does not touch the folded paper.", punch=k)
    return tuple(pieces)


def _anticlockwise(ring: np.ndarray, face: Face) -> np.ndarray:
    """A ring that was anticlockwise in the folded plane, made so on the flat sheet."""
    return ring[::-1] if face.turned else ring


def _cut_pieces(
    state: State, outlines: Sequence[np.ndarray], doubtful: list[list[int]], runs: np.ndarray
) -> list[Piece]:
    """What is left of outlines on faces whose edges run through them; ``runs`` tells which edges (edges x outlines)."""
    pieces: list[Piece] = []
    rings: list[Polygon] = []
    owners: list[tuple[int, int]] = []
    fine = {k: _fine(outlines[k]) for k in {k for _, k in doubtful}}
    lines: dict[int, Line] = {}  # of edges, by where they stand among the state's
    starts = state.corners.starts
    for f, k in doubtful:
        face = state.faces[f]
        if not (state.sheet_is_convex or face.is_convex):
            pieces += _on_hollow_face(face, f, outlines[k], k)
            continue
        edges = runs[starts[f] : starts[f] + len(face.flat), k].nonzero()[0].tolist()
        for i in edges:
            if starts[f] + i not in lines:
                lines[starts[f] + i] = _edge_line(face, i)
        left = _within(fine[k], [lines[starts[f] + i] for i in edges])
        rings += left
        owners += [(k, f)] * len(left)
    if rings:
        pieces += _flattened(state, Corners.of(rings), owners)
    return pieces


def _flattened(state: State, rings: Corners, owners: Sequence[tuple[int, int]]) -> list[Piece]:
    """Rings of the folded plane, each of a punch and a face, as pieces on the flat sheet; mere touches are left out."""
    faces = [f for _, f in owners]
    motions = np.repeat(state.matrices[faces], rings.counts, axis=0)
    flat = np.einsum("nij,ni->nj", motions[:, :, :2], rings.xy - motions[:, :, 2])
    large = (rings.areas() > LEAST_AREA).tolist()
    return [
        Piece(_anticlockwise(ring, state.faces[f]), k, f, whole=False)
        for ring, (k, f), keep in zip(Corners(flat, rings.counts).split(), owners, large, strict=True)
        if keep
    ]


def _fine(outline: np.ndarray) -> Polygon:
    """The outline on a grid so fine that nobody can tell, as exact vertices."""
    return tuple([(x, y, _FINE) for x, y in np.rint(outline * _FINE).astype(np.int64).tolist()])


def _edge_line(face: Face, i: int) -> Line:
    """The line of a face's edge where it lies now, positive inside, with the first 80 bits of its numbers.

    The faces on both sides of a crease get the same line to 24 digits, whatever size the exact numbers have grown to.
    """
    p, q = (face.motion.carry(face.flat[j % len(face.flat)]) for j in (i, i + 1))
    a, b, c = line_of(q, p) if face.turned else line_of(p, q)
    extra = max(0, max(abs(a), abs(b)).bit_length() - 80)
    return a >> extra, b >> extra, c >> extra


def _within(outline: Polygon, lines: Iterable[Line]) -> list[Polygon]:
    """What of an outline lies on the positive side of all these lines."""
    rings = [outline]
    for line in lines:
        rings = [part for ring in rings for part in split_at(ring, _clear_sides(line, ring), line)[0]]
    return rings


def _clear_sides(line: Line, ring: Polygon) -> list[int]:
    """The sides of the ring's vertices, 0 for those closer than ``NEAR``: these count as on the line."""
    a, b, _ = line
    near = {w: isqrt((a * a + b * b) * w * w // _NEARS) for w in {w for _, _, w in ring}}
    return [0 if -near[v[2]] <= s <= near[v[2]] else s for s, v in zip(sides(line, ring), ring, strict=True)]


def _on_hollow_face(face: Face, f: int, outline: np.ndarray, k: int) -> Iterator[Piece]:
    """The parts of an outline on a face that is not convex."""
    paper, punch = shapely.Polygon(face.outline_xy), shapely.Polygon(face.flatten(outline))
    whole = shapely.contains_properly(paper, punch) and paper.exterior.distance(punch) > NEAR
    region = punch if whole else shapely.intersection(punch, paper, grid_size=GRID)
    for part in shapely.get_parts(region):
        if part.geom_type == "Polygon" and part.area > LEAST_AREA:
            ring = shapely.get_coordinates(shapely.orient_polygons(part))[:-1]
            yield Piece(ring, k, f, whole=bool(whole))
