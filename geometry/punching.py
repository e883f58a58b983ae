"""Punching: outlines in the folded plane, and what each leaves on every layer under it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin

import numpy as np
import shapely

from geometry.errors import PunchError
from geometry.folding import GRID, Face, State
from geometry.shapes import SHAPES
from geometry.spec import Punch

NEAR = 1e-11  # closer than this to a face's edge, in sheet widths, is on the edge
LEAST_AREA = 1e-9  # less than this is no hole but a touch

_QUARTER_TURNS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


def outline_of(punch: Punch) -> np.ndarray:
    """The punch's outline in the folded plane: N x 2 floats, anticlockwise."""
    if punch.shape == "outline":
        shape = np.array([[float(x), float(y)] for x, y in punch.points])
        if not shapely.LinearRing(shape).is_ccw:
            shape = shape[::-1]
    else:
        shape = SHAPES[punch.shape].outline
    c, s = _direction(punch)
    x, y = shape[:, 0], shape[:, 1]
    turned = np.column_stack([c * x - s * y, s * x + c * y])
    return turned * float(punch.size) + (float(punch.at[0]), float(punch.at[1]))


def _direction(punch: Punch) -> tuple[float, float]:
    """Cosine and sine of the turn, exact for quarter turns."""
    turn = punch.turn % 360
    if turn % 90 == 0:
        return _QUARTER_TURNS[int(turn // 90)]
    angle = float(turn) * pi / 180
    return cos(angle), sin(angle)


@dataclass(frozen=True)
class Piece:
    """What one punch leaves on one face: a region of the flat sheet.

    ``whole`` is True when the punch lies inside the face, clear of its edges; other pieces may meet a neighbour's along
    a crease.
    """

    region: shapely.Polygon
    punch: int
    face: int
    whole: bool


def pieces_of(state: State, punches: tuple[Punch, ...]) -> tuple[tuple[Piece, ...], tuple[np.ndarray, ...]]:
    """All pieces on all faces, and the punches' outlines. Raises ``PunchError`` for a punch that misses the paper."""
    outlines = tuple(outline_of(punch) for punch in punches)
    undo = [(~face.motion).matrix() for face in state.faces]
    pieces: list[Piece] = []
    for i, outline in enumerate(outlines):
        before = len(pieces)
        for j, face in enumerate(state.faces):
            flat = outline @ undo[j][:, :2].T + undo[j][:, 2]
            pieces += [Piece(region, i, j, whole) for region, whole in _on_face(flat, face)]
        if len(pieces) == before:
            raise PunchError(f"Punch {i + 1} does not touch the folded paper.", punch=i, value=punches[i].at)
    return tuple(pieces), outlines


def _on_face(flat: np.ndarray, face: Face) -> Iterator[tuple[shapely.Polygon, bool]]:
    """The parts of a pulled-back outline that lie on a face, each with whether it is clear of the face's edges."""
    if face.is_convex:
        nearest = _clearance(flat, face.outline_xy)
        if nearest.min() > NEAR:
            yield shapely.Polygon(flat), True
            return
        if nearest.min(axis=1).min() > -NEAR:
            yield shapely.Polygon(flat), False
            return
        if nearest.max(axis=1).min() < NEAR:
            return
    region = shapely.intersection(shapely.Polygon(flat), shapely.Polygon(face.outline_xy), grid_size=GRID)
    for part in shapely.get_parts(region):
        if part.geom_type == "Polygon" and part.area > LEAST_AREA:
            yield part, False


def _clearance(points: np.ndarray, polygon: np.ndarray) -> np.ndarray:
    """How far each point lies inside each edge's line of an anticlockwise polygon: edges x points, negative outside."""
    along = np.roll(polygon, -1, axis=0) - polygon
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    offset = polygon[:, 1] * along[:, 0] - polygon[:, 0] * along[:, 1]
    return along[:, :1] * points[:, 1] - along[:, 1:] * points[:, 0] - offset[:, None]
