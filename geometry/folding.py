"""Folding: from a sheet and its folds to a stack of faces, state by state.

A fold along a line cuts every face it crosses, turns over the parts that move, in reversed order, and lays them on top
of the stack (or underneath). With all layers, every part on the moving side moves; with n layers, the flap that n
sheets at the grip pull along (the all-layers and some-layers simple folds of Arkin, Bender, Demaine, Demaine, Mitchell,
Sethia and Skiena, "When can you fold a map?", 2004).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.cutting import is_convex, join, split
from geometry.errors import CreaseError, FoldError, LayersError, NothingMovesError, SliverError
from geometry.flaps import Part, flap_of
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


@dataclass(eq=False)
class Face:
    """A piece of the flat sheet that no crease crosses, and where it lies now.

    ``flat`` is its polygon on the flat sheet; ``motion`` carries it to its place; ``moved`` has bit k-1 set when fold k
    moved it; ``parent`` is the index, in the state before, of the face it was cut from. Never changed once made (not
    declared frozen, since that makes the making four times as slow, and folding makes little else).
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

    def flatten(self, xy: np.ndarray) -> np.ndarray:
        """Points of the folded plane (N x 2 floats) where they lie on the flat sheet."""
        m = self.motion.matrix()
        return (xy - m[:, 2]) @ m[:, :2]


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


@dataclass(frozen=True, eq=False)
class State:
    """The paper after some of its folds: faces from bottom to top."""

    faces: tuple[Face, ...]
    sheet_is_convex: bool = False

    @cached_property
    def corners(self) -> np.ndarray:
        """Every face's vertices on the flat sheet, face after face: N x 2 floats, each rounded once."""
        return np.array([c for face in self.faces for x, y, w in face.flat for c in (x / w, y / w)]).reshape(-1, 2)

    @cached_property
    def counts(self) -> np.ndarray:
        """How many of the ``corners`` are each face's."""
        return np.array([len(face.flat) for face in self.faces])

    @cached_property
    def starts(self) -> np.ndarray:
        """Where among the ``corners`` each face's begin."""
        return np.concatenate([[0], np.cumsum(self.counts)[:-1]])

    @cached_property
    def nexts(self) -> np.ndarray:
        """For each of the ``corners``, where the next one of its face stands."""
        nexts = np.arange(1, len(self.corners) + 1)
        nexts[self.starts + self.counts - 1] = self.starts
        return nexts

    @cached_property
    def matrices(self) -> np.ndarray:
        """Every face's motion: F x 2 x 3 floats."""
        return np.array([face.motion.rows() for face in self.faces]).reshape(-1, 2, 3)

    @cached_property
    def convex(self) -> np.ndarray:
        """Which faces are convex. Cutting keeps what is convex so, hence the sheet's word holds for all its faces."""
        return np.array([self.sheet_is_convex or face.is_convex for face in self.faces])

    @cached_property
    def edges(self) -> np.ndarray:
        """Every face's edges where they lie now, as rows (x, y, c): a point's depth inside is x px + y py + c."""
        motions = np.repeat(self.matrices, self.counts, axis=0)
        here = np.einsum("nij,nj->ni", motions[:, :, :2], self.corners) + motions[:, :, 2]
        along = here[self.nexts] - here
        along *= (_handedness(motions) / np.hypot(along[:, 0], along[:, 1]))[:, None]
        x, y = -along[:, 1], along[:, 0]
        return np.column_stack([x, y, -x * here[:, 0] - y * here[:, 1]])

    def flattened(self, xy: np.ndarray) -> np.ndarray:
        """Points of the folded plane (N x 2) where each face has them on the flat sheet: F x N x 2."""
        return np.matmul(xy - self.matrices[:, None, :, 2], self.matrices[:, :, :2])

    @cached_property
    def outline(self) -> BaseGeometry:
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
    states = [State((Face(sheet.outline),), sheet.is_convex)]
    creases: list[Crease] = []
    for number, one in enumerate(folds, 1):
        try:
            crease = crease_of(one, number)
            states.append(fold_once(states[-1], crease))
        except FoldError:
            refuse_slivers(states)
            raise
        creases.append(crease)
    refuse_slivers(states)
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
    """The state after one more fold (slivers are not looked for)."""
    cuts = [split(face.flat, face.motion.pull_back(crease.line)) for face in state.faces]
    _refuse_rim(cuts, crease)
    taken = [moving for moving, _ in cuts] if crease.layers is None else _flap(state, cuts, crease)
    bit = 1 << (crease.number - 1)
    staying: list[Face] = []
    turned: list[Face] = []
    for index, (face, (moving, still), gone) in enumerate(zip(state.faces, cuts, taken, strict=True)):
        if gone:
            motion = crease.motion @ face.motion
            turned += [Face(piece, motion, face.moved | bit, index) for piece in gone]
            if len(gone) < len(moving):
                kept = [piece for piece in moving if piece not in gone]
                still = join(still + kept, face.motion.pull_back(crease.line))
        else:
            still = [face.flat]  # a face of which nothing is taken keeps no trace of the crease
        staying += [Face(piece, face.motion, face.moved, index) for piece in still]
    turned.reverse()
    return State(tuple(staying + turned if crease.way == "over" else turned + staying), state.sheet_is_convex)


Cuts = list[tuple[list[Polygon], list[Polygon]]]  # for each face, its pieces that may move and those that stay


def _refuse_rim(cuts: Cuts, crease: Crease) -> None:
    k = crease.number
    if not any(moving for moving, _ in cuts):
        raise NothingMovesError(f"Fold {k} moves nothing: no paper lies on that side of its crease.", fold=k)
    if not any(still for _, still in cuts):
        raise CreaseError(f"The crease of fold {k} misses the paper or only touches its rim.", fold=k)


def _flap(state: State, cuts: Cuts, crease: Crease) -> list[list[Polygon]]:
    """For each face, the pieces that go with the layers taken at the grip."""
    parts = [
        Part(index, face, piece)
        for index, (face, (moving, _)) in enumerate(zip(state.faces, cuts, strict=True))
        for piece in moving
    ]
    assert crease.layers is not None
    flap = flap_of(parts, crease.line, vertex(crease.grip), crease.layers, from_top=crease.way == "over")
    if flap is None:
        raise LayersError(
            f"Fold {crease.number} takes {crease.layers} layers, but fewer lie at the point it is gripped by.",
            fold=crease.number,
            value=crease.layers,
        )
    taken: list[list[Polygon]] = [[] for _ in cuts]
    for part in flap:
        taken[part.index].append(part.piece)
    return taken


def refuse_slivers(states: Sequence[State]) -> None:
    """Raise a ``SliverError`` for the first fold that cut a face so that a part is narrower than ``NARROWEST``.

    A part of a sliver is a sliver: so the last state tells, and mostly at once, whether there is one to be looked for.
    """
    if not any(_is_narrow(face) for face in _doubtful(states[-1])):
        return
    for number, state in enumerate(states[1:], 1):
        cut = Counter(face.parent for face in state.faces)
        if any(cut[face.parent] > 1 and _is_narrow(face) for face in state.faces):
            raise SliverError(
                f"Fold {number} would leave a strip narrower than a thousandth of the sheet.", fold=number
            )


def _handedness(motions: np.ndarray) -> np.ndarray:
    """1 for motions that keep the front up, -1 for those that turn it over."""
    return motions[:, 0, 0] * motions[:, 1, 1] - motions[:, 0, 1] * motions[:, 1, 0]


def _doubtful(state: State) -> list[Face]:
    """The faces too small to be wide for certain: a face is at least as wide as its area over the sheet's diameter."""
    (x, y), (next_x, next_y) = state.corners.T, state.corners[state.nexts].T
    areas = np.add.reduceat(x * next_y - next_x * y, state.starts) / 2
    small = areas < NARROWEST * (np.ptp(x) + np.ptp(y))
    return [state.faces[i] for i in small.nonzero()[0]] if small.any() else []


def _is_narrow(face: Face) -> bool:
    """True when two parallel lines closer than ``NARROWEST`` hold the face between them."""
    hull = shapely.get_coordinates(shapely.MultiPoint(face.outline_xy).convex_hull)
    edges = np.diff(hull, axis=0)
    normals = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    return float(np.ptp(hull @ normals.T, axis=0).min()) < NARROWEST - 1e-12
