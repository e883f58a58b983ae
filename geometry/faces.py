"""Faces, the pieces of a folded sheet, and the stack they lie in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.corners import Corners
from geometry.cutting import is_convex
from geometry.kept import kept
from geometry.plane import IDENTITY, Motion, Polygon, to_xy
from geometry.silhouettes import rims_about

TOUCH = 1e-12  # sheet widths: what sticks out by less does not stick out
GRID = 1e-10  # every overlay snaps to this grid, since almost coincident edges are silently lost without one


@dataclass(eq=False)
class Face:
    """A piece of the flat sheet that no crease crosses, and where it lies now.

    ``flat`` is its polygon on the flat sheet; ``motion`` carries it to its place; ``moved`` has bit k-1 set when fold k
    moved it; ``parent`` is the index, in the state before, of the face it was cut from. Never changed once made (not
    declared frozen, since that makes the making four times as slow).
    """

    flat: Polygon
    motion: Motion = IDENTITY
    moved: int = 0
    parent: int = 0

    @property
    def turned(self) -> bool:
        """True when the back of the paper shows."""
        return self.moved.bit_count() & 1 == 1

    @kept
    def outline_xy(self) -> np.ndarray:
        """Vertices on the flat sheet, N x 2 floats, anticlockwise."""
        return to_xy(self.flat)

    @kept
    def folded(self) -> Polygon:
        """Exact vertices where the face lies now, anticlockwise."""
        ring = tuple([self.motion.carry(v) for v in self.flat])
        return ring[::-1] if self.turned else ring

    @kept
    def folded_xy(self) -> np.ndarray:
        """Vertices where the face lies now, N x 2 floats, anticlockwise."""
        return to_xy(self.folded)

    @kept
    def is_convex(self) -> bool:
        return is_convex(self.flat)

    def flatten(self, xy: np.ndarray) -> np.ndarray:
        """Points of the folded plane (N x 2 floats) where they lie on the flat sheet."""
        m = self.motion.matrix()
        return (xy - m[:, 2]) @ m[:, :2]


Row = tuple[Polygon, Motion, int, int]  # what a face is made of, in its order


@dataclass(eq=False)
class State:
    """The paper after some of its folds: faces from bottom to top. Never changed once made.

    They are kept as rows, since folding makes many that nobody looks at as faces. Cutting keeps what is convex so;
    hence ``sheet_is_convex`` speaks for all the faces.
    """

    rows: Sequence[Row]
    sheet_is_convex: bool = False

    @kept
    def faces(self) -> tuple[Face, ...]:
        return tuple([Face(*row) for row in self.rows])

    @kept
    def moved(self) -> list[int]:
        """By bits, which folds moved each face."""
        return [moved for _, _, moved, _ in self.rows]

    @kept
    def outline(self) -> BaseGeometry:
        """The folded paper's silhouette: a polygon, or several where they meet in points only."""
        if self.rims:
            return shapely.Polygon(self.rims[0], self.rims[1:])
        return shapely.union_all([shapely.Polygon(face.folded_xy) for face in self.faces], grid_size=GRID)

    @kept
    def rims(self) -> list[np.ndarray]:
        """The silhouette's rings, the outer one first; none unless it is one polygon, and the sheet convex."""
        rims = rims_about([self.faces[f].folded for f in self._outermost()]) if self.sheet_is_convex else None
        return [to_xy(rim) for rim in rims or ()]

    def _outermost(self) -> list[int]:
        """Faces that together cover the paper: from the largest on, those that none before covers."""
        starts = self.corners.starts
        left = self.corners.sizes.imag.argsort()[::-1]
        found = []
        while len(left):
            f = left[0]
            found.append(int(f))
            depths = self.depths(self.places, slice(starts[f], self.corners.ends[f])).min(axis=0)
            sticking_out = np.minimum.reduceat(depths, starts) < -TOUCH
            left = left[sticking_out[left]]
        return found

    @kept
    def corners(self) -> Corners:
        """Every face's vertices on the flat sheet."""
        return Corners([flat for flat, *_ in self.rows])

    @kept
    def motions(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Every face's motion: z goes to turn z + shift, z being conjugated first where ``flip`` is -1 (else 1)."""
        parts = [
            (a / w, c / w, e / w, f / w, flip, 0.0) for a, c, e, f, w, flip in [motion for _, motion, *_ in self.rows]
        ]
        turn, shift, flip = np.array(parts).view(complex).T
        return turn, shift, flip.real

    @kept
    def places(self) -> np.ndarray:
        """Where the faces' vertices lie now, face by face as in ``corners``."""
        turn, shift, flip = self.motions
        homes = self.corners.homes
        at = self.corners.at.copy()
        at.imag *= flip[homes]
        at *= turn[homes]
        at += shift[homes]
        return at

    @kept
    def edges(self) -> tuple[np.ndarray, np.ndarray]:
        """Every face's edges where they lie now: the unit normal n to the inside, and c; z lies n . z + c deep."""
        turn, _, flip = self.motions
        homes = self.corners.homes
        flips = flip[homes]
        normals = self.corners.along / self.corners.lengths
        normals.imag *= flips
        normals *= turn[homes]
        normals *= 1j * flips
        return normals, -(normals.conj() * self.places).real

    def depths(self, at: np.ndarray, edges: slice | list[int] = slice(None)) -> np.ndarray:
        """How deep points of the folded plane (N complex) lie inside the lines of these edges: E x N."""
        normals, offsets = self.edges
        depths = normals[edges].view(float).reshape(-1, 2) @ at.view(float).reshape(-1, 2).T
        depths += offsets[edges, None]
        return depths

    @kept
    def homeward(self) -> tuple[np.ndarray, np.ndarray]:
        """What undoes every face's motion: xy @ linear + shift has each face's x and y side by side (2 x 2F and 2F)."""
        parts: list[float] = []
        for a, c, e, f, w, flip in [motion for _, motion, *_ in self.rows]:
            ww = w * w
            parts += (a / w, c / w, -(a * e + c * f) / ww, -flip * c / w, flip * a / w, flip * (c * e - a * f) / ww)
        table = np.array(parts).reshape(-1, 3).T
        return table[:2], table[2]

    def flattened(self, xy: np.ndarray) -> np.ndarray:
        """Where every face has points of the folded plane (N x 2) on the flat sheet: N x F, complex."""
        linear, shift = self.homeward
        flat = xy @ linear
        flat += shift
        return flat.view(complex)

    def flattened_each(self, xy: np.ndarray, faces: np.ndarray) -> np.ndarray:
        """Where each point of the folded plane (N x 2) lies on the flat sheet for a face of its own (N): N x 2."""
        linear, shift = self.homeward
        x_part, y_part = linear.reshape(2, -1, 2)[:, faces]
        return xy[:, :1] * x_part + xy[:, 1:] * y_part + shift.reshape(-1, 2)[faces]

    def depths_of(self, flat: np.ndarray) -> np.ndarray:
        """How deep each face has points of its own (N x F, on the flat sheet): inside the edge that is nearest."""
        corners = self.corners
        depths = flat.take(corners.homes, axis=1)
        depths -= corners.at
        depths *= corners.along.conj() / corners.lengths
        return np.minimum.reduceat(depths.imag, corners.starts, axis=1)
