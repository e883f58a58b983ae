"""Folding: from a sheet and its folds to a stack of faces, state by state.

A fold along a line cuts every face it crosses, turns over the parts that move, in reversed order, and lays them on top
of the stack (or underneath). With all layers, every part on the moving side moves; with n layers, the flap that n
sheets at the grip pull along (the all-layers and some-layers simple folds of Arkin, Bender, Demaine, Demaine, Mitchell,
Sethia and Skiena, "When can you fold a map?", 2004).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from geometry.cutting import is_convex, split
from geometry.errors import CreaseError, LayersError, NothingMovesError, SliverError
from geometry.flaps import Part, flap
from geometry.plane import (
    IDENTITY,
    Line,
    Motion,
    Point,
    Polygon,
    line_through,
    reflection,
    side,
    to_xy,
    vertex,
)
from geometry.spec import Fold, Sheet, Way

GRID = 1e-10  # every overlay snaps to this grid, since almost coincident edges are silently lost without one
NARROWEST = 1e-3


@dataclass(frozen=True)
class Face:
    """A piece of the flat sheet that no crease crosses, and where it lies now.

    ``flat`` is its polygon on the flat sheet; ``motion`` carries it to its place; ``moved`` has bit k-1 set when fold k
    moved it; ``parent`` is the index, in the state before, of the face it was cut from.
    """

    flat: Polygon
    motion: Motion = IDENTITY
    moved: int = 0
    parent: int = 0

    @property
    def turned(self) -> bool:
        """True when the back of the paper shows."""
        return self.motion.turns_over

    @cached_property
    def outline_xy(self) -> np.ndarray:
        """Vertices on the flat sheet, N x 2 floats, anticlockwise."""
        return to_xy(self.flat)

    @cached_property
    def folded(self) -> Polygon:
        """Exact vertices where the face lies now, anticlockwise."""
        ring = tuple(self.motion.carry(v) for v in self.flat)
        return ring[::-1] if self.turned else ring

    @cached_property
    def folded_xy(self) -> np.ndarray:
        """Vertices where the face lies now, N x 2 floats, anticlockwise."""
        return to_xy(self.folded)

    @cached_property
    def is_convex(self) -> bool:
        return is_convex(self.flat)


@dataclass(frozen=True)
class Crease:
    """A fold's crease in the plane of the paper as it lay before the fold.

    ``line`` is positive on the side that moves. ``grip`` is the point taken hold of and ``landing`` where it comes to.
    """

    number: int
    a: Point
    b: Point
    line: Line
    grip: Point
    way: Way
    layers: int | None

    @cached_property
    def motion(self) -> Motion:
        """The reflection that the moving paper undergoes."""
        return reflection(self.line)

    @property
    def landing(self) -> Point:
        return self.motion.carry_point(self.grip)

    def moves(self, p: Point) -> bool:
        """True when the point lies strictly on the side that moves."""
        return side(self.line, vertex(p)) > 0


@dataclass(frozen=True)
class State:
    """The paper after some of its folds: faces from bottom to top."""

    faces: tuple[Face, ...]

    @cached_property
    def outline(self) -> shapely.Geometry:
        """The folded paper's silhouette: a polygon, or several where they meet in points only."""
        return shapely.union_all([shapely.Polygon(f.folded_xy) for f in self.faces], grid_size=GRID)


@dataclass(frozen=True)
class Folded:
    """Every state from the flat sheet (``states[0]``) to all folds made, and the crease of each fold."""

    sheet: Sheet
    states: tuple[State, ...]
    creases: tuple[Crease, ...]

    def motion_after(self, folds: int, face: Face) -> Motion:
        """What carries a face of the last state to where it lay after the first ``folds`` folds."""
        motion = IDENTITY
        for crease in self.creases[:folds]:
            if face.moved >> (crease.number - 1) & 1:
                motion = crease.motion @ motion
        return motion


def fold_sheet(sheet: Sheet, folds: tuple[Fold, ...]) -> Folded:
    """Fold a sheet. Raises a ``FoldError`` that names the first fold that paper cannot make."""
    states = [State((Face(sheet.outline),))]
    creases: list[Crease] = []
    for number, one in enumerate(folds, 1):
        crease = crease_of(one, number)
        states.append(fold_once(states[-1], crease))
        creases.append(crease)
    return Folded(sheet, tuple(states), tuple(creases))


def crease_of(fold: Fold, number: int) -> Crease:
    """The crease that a fold names. Bringing P to Q creases along the perpendicular bisector (axiom O2)."""
    if fold.crease is not None and fold.moves is not None:
        (a, b), grip = fold.crease, fold.moves
        if a == b:
            raise CreaseError(f"Fold {number}: the crease needs two different points.", fold=number, value=a)
    else:
        p, q = fold.bring, fold.to
        assert p is not None and q is not None  # noqa: PT018  (a fold has one form or the other)
        if p == q:
            raise CreaseError(f"Fold {number} brings a point to where it already is.", fold=number, value=p)
        a, b, grip = *_bisector(p, q), p
    line = line_through(a, b)
    where = side(line, vertex(grip))
    if where == 0:
        raise NothingMovesError(
            f"Fold {number}: the point that moves lies on the crease itself.", fold=number, value=grip
        )
    if where < 0:
        line = (-line[0], -line[1], -line[2])
    return Crease(number, a, b, line, grip, fold.way, fold.layers)


def _bisector(p: Point, q: Point) -> tuple[Point, Point]:
    middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    return middle, (middle[0] + p[1] - q[1], middle[1] + q[0] - p[0])


def fold_once(state: State, crease: Crease) -> State:
    """The state after one more fold."""
    pieces = [split(face.flat, face.motion.pull_back(crease.line)) for face in state.faces]
    _refuse_rim(pieces, crease)
    parts = [
        Part(index, face, piece)
        for index, (face, (moving, _)) in enumerate(zip(state.faces, pieces, strict=True))
        for piece in moving
    ]
    if crease.layers is not None:
        taken = flap(parts, crease.line, vertex(crease.grip), crease.layers, from_top=crease.way == "over")
        if taken is None:
            raise LayersError(
                f"Fold {crease.number} takes {crease.layers} layers, but fewer lie at the point it is gripped by.",
                fold=crease.number,
                value=crease.layers,
            )
        parts = taken
    staying = _staying(state, pieces, parts, crease)
    turned = [_turned(part, crease) for part in reversed(parts)]
    return State(tuple(staying + turned if crease.way == "over" else turned + staying))


def _turned(part: Part, crease: Crease) -> Face:
    """A part after it has been reflected in the crease."""
    moved = part.face.moved | 1 << (crease.number - 1)
    return Face(part.piece, crease.motion @ part.face.motion, moved, part.index)


def _refuse_rim(pieces: list[tuple[list[Polygon], list[Polygon]]], crease: Crease) -> None:
    k = crease.number
    if not any(moving for moving, _ in pieces):
        raise NothingMovesError(f"Fold {k} moves nothing: no paper lies on that side of its crease.", fold=k)
    if not any(still for _, still in pieces):
        raise CreaseError(f"The crease of fold {k} misses the paper or only touches its rim.", fold=k)


def _staying(
    state: State, pieces: list[tuple[list[Polygon], list[Polygon]]], taken: list[Part], crease: Crease
) -> list[Face]:
    """What stays where it is. A face of which nothing is taken stays whole."""
    gone: dict[int, list[Polygon]] = {}
    for part in taken:
        gone.setdefault(part.index, []).append(part.piece)
    staying: list[Face] = []
    for index, (face, (moving, still)) in enumerate(zip(state.faces, pieces, strict=True)):
        if index not in gone:
            staying.append(Face(face.flat, face.motion, face.moved, index))
            continue
        left = still + [piece for piece in moving if piece not in gone[index]]
        if still:
            _refuse_slivers(gone[index] + left, crease)
        staying += [Face(piece, face.motion, face.moved, index) for piece in left]
    return staying


def _refuse_slivers(pieces: list[Polygon], crease: Crease) -> None:
    for piece in pieces:
        if _is_narrow(piece):
            raise SliverError(
                f"Fold {crease.number} would leave a strip narrower than a thousandth of the sheet.",
                fold=crease.number,
            )


def _is_narrow(piece: Polygon) -> bool:
    """True when two parallel lines closer than ``NARROWEST`` hold the polygon between them."""
    xs, ys = [v[0] / v[2] for v in piece], [v[1] / v[2] for v in piece]
    n = len(piece)
    area = sum(xs[i - 1] * ys[i] - xs[i] * ys[i - 1] for i in range(n)) / 2
    across = max(xs) - min(xs) + max(ys) - min(ys)  # at least the diameter
    if area > NARROWEST * across:  # width is at least area over diameter
        return False
    hull = np.array(shapely.MultiPoint(list(zip(xs, ys, strict=True))).convex_hull.exterior.coords)
    edges = np.diff(hull, axis=0)
    normals = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    return float(np.ptp(hull @ normals.T, axis=0).min()) < NARROWEST - 1e-12
