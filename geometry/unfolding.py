"""Unfolding: every hole of every state, with where it comes from.

Holes are worked out once, as pieces on the faces of the fully folded paper, and carried to where those faces lay after
any number of folds. Pieces that meet along a crease are one hole (``geometry.joining``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import hypot

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.faces import GRID
from geometry.folding import Folded, fold_sheet
from geometry.joining import Joined, polygons_in, stitched, united
from geometry.kept import kept
from geometry.plane import Motion
from geometry.punching import Circle, Piece, circle_about, outline_of, pieces_of
from geometry.spec import Spec

Placed = tuple[Piece, shapely.Polygon]  # a piece, and its region in the plane of some state


@dataclass(eq=False)
class Hole:
    """A hole in some state of the paper, never changed once made.

    ``rings`` lie in the plane of that state, N x 2 each: the outer anticlockwise, then those of paper left inside,
    clockwise. ``punch`` is None when punches ran together. ``faces`` are indices into the last state's faces. ``folds``
    are the folds whose opening carried it here, ascending.
    """

    rings: tuple[np.ndarray, ...]
    punch: int | None
    faces: tuple[int, ...]
    folds: tuple[int, ...]

    @kept
    def region(self) -> shapely.Polygon:
        return shapely.Polygon(self.rings[0], self.rings[1:])


@dataclass(frozen=True, eq=False)
class Unfolding:
    """A spec worked out: its states, its punches in the folded plane, and the holes of every state."""

    spec: Spec
    folded: Folded
    pieces: tuple[Piece, ...]
    outlines: tuple[np.ndarray, ...]
    circles: tuple[Circle, ...]

    @kept
    def punches(self) -> tuple[shapely.Polygon, ...]:
        """The punches' outlines in the folded plane."""
        return tuple(shapely.Polygon(outline) for outline in self.outlines)

    @kept
    def layers(self) -> tuple[int, ...]:
        """How many layers each punch goes through (a layer is a face that loses paper to it)."""
        return tuple(len({p.face for p in self.pieces if p.punch == i}) for i in range(len(self.outlines)))

    @kept
    def _apart(self) -> bool:
        """True when no two punches overlap or touch."""
        return not any(
            hypot(x - u, y - v) <= r + s and self.punches[i].intersects(self.punches[j])
            for j, (x, y, r) in enumerate(self.circles)
            for i, (u, v, s) in enumerate(self.circles[:j])
        )

    @kept
    def _known(self) -> dict[int, tuple[Hole, ...]]:
        return {}

    def holes(self, folds: int = 0) -> tuple[Hole, ...]:
        """The holes seen when only the first ``folds`` folds are still made; by default, those of the flat sheet."""
        if folds not in self._known:
            self._known[folds] = self._flat_holes() if folds == 0 else self._folded_holes(folds)
        return self._known[folds]

    def _flat_holes(self) -> tuple[Hole, ...]:
        if not self._apart:
            return self._holes_of(united([(p, p.region) for p in self.pieces]), 0)
        faces = self.folded.states[-1].faces
        holes = [Hole((p.ring,), p.punch, (p.face,), _numbers(faces[p.face].moved, 0)) for p in self.pieces if p.whole]
        if len(holes) < len(self.pieces):
            meeting = [p for p in self.pieces if not p.whole]
            # at the hollow corners of a rim one edge may lie against two, which stitching does not see
            hollow = not self.spec.sheet.is_convex
            joined = united([(p, p.region) for p in meeting]) if hollow else stitched(meeting)
            holes += self._holes_of(joined, 0)
        return tuple(holes)

    def _folded_holes(self, folds: int) -> tuple[Hole, ...]:
        if any(crease.layers is not None for crease in self.folded.creases):
            return self._holes_of(united(self._visible(folds)), folds)
        return self._holes_of(self._through(folds), folds)

    def _holes_of(self, joined: Sequence[Joined], folds: int) -> tuple[Hole, ...]:
        return tuple([self._hole(rings, sources, folds) for rings, sources in joined])

    def _hole(self, rings: tuple[np.ndarray, ...], sources: Sequence[Piece], folds: int) -> Hole:
        faces = self.folded.states[-1].faces
        punches = {p.punch for p in sources}
        opened = min([faces[p.face].moved >> folds for p in sources], key=int.bit_count)
        return Hole(
            rings=rings,
            punch=punches.pop() if len(punches) == 1 else None,
            faces=tuple(sorted({p.face for p in sources})),
            folds=_numbers(opened, folds),
        )

    def _through(self, folds: int) -> list[Joined]:
        """The holes of a state of all-layers folds. Layers that lie on one another have the same hole."""
        places: dict[tuple[int, int], list[Piece]] = {}
        faces = self.folded.states[-1].faces
        for piece in self.pieces:
            places.setdefault((piece.punch, faces[piece.face].moved >> folds), []).append(piece)
        alone: list[Joined] = []
        meeting: list[Placed] = []
        for pieces in places.values():
            whole = next((p for p in pieces if p.whole), None)
            if whole is not None and self._apart:
                alone.append(((self._carried(whole.ring, whole.face, folds),), tuple(pieces)))
            else:
                meeting += [(p, self._region(p, folds)) for p in pieces]
        return alone + united(meeting)

    def _visible(self, folds: int) -> list[Placed]:
        """What can be seen of the pieces from the front when some folds took only some layers."""
        covered: BaseGeometry = shapely.Polygon()
        seen: list[Placed] = []
        faces = self.folded.states[folds].faces
        for face, on_face in zip(reversed(faces), reversed(self.face_holes(folds)), strict=True):
            paper: BaseGeometry = shapely.Polygon(face.folded_xy)
            for piece, region in on_face:
                seen += [(piece, part) for part in polygons_in(shapely.difference(region, covered, grid_size=GRID))]
                paper = _area(shapely.difference(paper, region, grid_size=GRID))
            covered = _area(shapely.union(covered, paper, grid_size=GRID))
        return seen

    def face_holes(self, folds: int) -> list[list[Placed]]:
        """For each face of the state after ``folds`` folds, bottom to top: the pieces on it, in that state's plane."""
        homes = list(range(len(self.folded.states[-1].faces)))
        for state in reversed(self.folded.states[folds + 1 :]):
            homes = [state.faces[home].parent for home in homes]
        out: list[list[Placed]] = [[] for _ in self.folded.states[folds].faces]
        for piece in self.pieces:
            out[homes[piece.face]].append((piece, self._region(piece, folds)))
        return out

    def _region(self, piece: Piece, folds: int) -> shapely.Polygon:
        return shapely.Polygon(self._carried(piece.ring, piece.face, folds))

    def _carried(self, ring: np.ndarray, face: int, folds: int) -> np.ndarray:
        """A ring of a face, anticlockwise where the face lay after the first ``folds`` folds."""
        motion = self._motion(face, folds)
        xy = motion.carry_xy(ring)
        return xy[::-1] if motion.turns_over else xy

    def _motion(self, face: int, folds: int) -> Motion:
        """What carries a face of the last state to where it lay after the first ``folds`` folds."""
        if (face, folds) not in self._motions:
            self._motions[face, folds] = self.folded.motion_after(folds, self.folded.states[-1].faces[face])
        return self._motions[face, folds]

    @kept
    def _motions(self) -> dict[tuple[int, int], Motion]:
        return {}


@cache
def _numbers(bits: int, folds: int) -> tuple[int, ...]:
    """The numbers of the folds whose bits are set, when bit 0 stands for fold ``folds`` + 1."""
    return tuple(folds + 1 + bit for bit in range(bits.bit_length()) if bits >> bit & 1)


def _area(geometry: BaseGeometry) -> BaseGeometry:
    """Only the polygons of an overlay's result; what shrank to lines and points goes."""
    return shapely.MultiPolygon(polygons_in(geometry, least=0.0))


def unfold(spec: Spec) -> Unfolding:
    """Fold, punch and unfold a spec. Raises ``FoldError`` or ``PunchError``."""
    folded = fold_sheet(spec.sheet, spec.folds)
    outlines = tuple([outline_of(punch) for punch in spec.punches])
    circles = tuple([circle_about(punch) for punch in spec.punches])
    return Unfolding(spec, folded, pieces_of(folded.states[-1], outlines, circles), outlines, circles)
