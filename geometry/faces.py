"""Faces, the pieces of a folded sheet, and the stack they lie in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.corners import Corners
from geometry.cutting import is_convex
from geometry.plane import IDENTITY, Motion, Polygon, to_xy

GRID = 1e-10  # every overlay snaps to this grid, since almost coincident edges are silently lost without one


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
        ring = tuple([self.motion.carry(v) for v in self.flat])
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


@dataclass(frozen=True, eq=False)
class State:
    """The paper after some of its folds: faces from bottom to top.

    Cutting keeps what is convex so; hence ``sheet_is_convex`` speaks for all the faces.
    """

    faces: tuple[Face, ...]
    sheet_is_convex: bool = False

    @cached_property
    def outline(self) -> BaseGeometry:
        """The folded paper's silhouette: a polygon, or several where they meet in points only."""
        return shapely.union_all([shapely.Polygon(f.folded_xy) for f in self.faces], grid_size=GRID)

    @cached_property
    def corners(self) -> Corners:
        """Every face's vertices on the flat sheet."""
        return Corners.of([face.flat for face in self.faces])

    @cached_property
    def matrices(self) -> np.ndarray:
        """Every face's motion: F x 2 x 3 floats."""
        return np.array([face.motion.rows() for face in self.faces]).reshape(-1, 2, 3)

    @cached_property
    def edges(self) -> np.ndarray:
        """Every face's edges where they lie now, as rows (x, y, c): a point's depth inside is x px + y py + c."""
        motions = np.repeat(self.matrices, self.corners.counts, axis=0)
        here = np.einsum("nij,nj->ni", motions[:, :, :2], self.corners.xy) + motions[:, :, 2]
        along = here[self.corners.nexts] - here
        handedness = motions[:, 0, 0] * motions[:, 1, 1] - motions[:, 0, 1] * motions[:, 1, 0]  # -1: turned over
        edges = np.empty((len(here), 3))
        edges[:, 0], edges[:, 1] = -along[:, 1], along[:, 0]
        edges[:, :2] *= (handedness / np.hypot(along[:, 0], along[:, 1]))[:, None]
        edges[:, 2] = -(edges[:, :2] * here).sum(axis=1)
        return edges

    def flattened(self, xy: np.ndarray) -> np.ndarray:
        """Points of the folded plane (N x 2) where each face has them on the flat sheet: F x N x 2."""
        return np.matmul(xy - self.matrices[:, None, :, 2], self.matrices[:, :, :2])
