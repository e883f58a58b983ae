"""Unfolding: every hole of every state, with where it comes from.

Holes are worked out once, as pieces on the faces of the fully folded paper, and carried to where those faces lay after
any number of folds. Pieces that meet along a crease are one hole.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np
import shapely

from geometry.folding import GRID, Folded, State, fold_sheet
from geometry.plane import Motion
from geometry.punching import LEAST_AREA, Piece, pieces_of
from geometry.spec import Spec

_CELL = 1e6 / sqrt(2)  # an irrational scale, so that no rational coordinate stands on the border of two cells


@dataclass(frozen=True)
class Hole:
    """A hole in some state of the paper.

    ``region`` lies in the plane of that state. ``punch`` is None when punches ran together. ``faces`` are indices into
    the last state's faces. ``folds`` are the folds whose opening carried it here, ascending.
    """

    region: shapely.Polygon
    punch: int | None
    faces: tuple[int, ...]
    folds: tuple[int, ...]


@dataclass(frozen=True)
class Unfolding:
    """A spec worked out: its states, its punches in the folded plane, and the holes of every state."""

    spec: Spec
    folded: Folded
    pieces: tuple[Piece, ...]
    outlines: tuple[np.ndarray, ...]

    @cached_property
    def punches(self) -> tuple[shapely.Polygon, ...]:
        """The punches' outlines in the folded plane."""
        return tuple(shapely.Polygon(outline) for outline in self.outlines)

    @cached_property
    def layers(self) -> tuple[int, ...]:
        """How many layers each punch goes through (a layer is a face that loses paper to it)."""
        return tuple(len({p.face for p in self.pieces if p.punch == i}) for i in range(len(self.outlines)))

    @cached_property
    def _alone(self) -> bool:
        """True when no two punches overlap or touch."""
        tree = shapely.STRtree(self.punches)
        first, second = tree.query(self.punches, predicate="intersects")
        return not bool((first != second).any())

    def holes(self, folds: int = 0) -> tuple[Hole, ...]:
        """The holes seen when only the first ``folds`` folds are still made; by default, those of the flat sheet."""
        if folds not in self._known:
            self._known[folds] = self._work_out(folds)
        return self._known[folds]

    @cached_property
    def _known(self) -> dict[int, tuple[Hole, ...]]:
        return {}

    def _work_out(self, folds: int) -> tuple[Hole, ...]:
        if folds and any(crease.layers is not None for crease in self.folded.creases):
            return self._visible(folds)
        placed = self._placed(folds)
        return self._joined(_distinct(placed) if folds else placed, folds)

    def _placed(self, folds: int) -> list[tuple[Piece, shapely.Polygon]]:
        """Every piece with its region where its face lay after the first ``folds`` folds."""
        motions: dict[int, np.ndarray] = {}
        placed = []
        for piece in self.pieces:
            if piece.face not in motions:
                motions[piece.face] = self._motion(piece.face, folds).matrix()
            placed.append((piece, _carried(piece.region, motions[piece.face]) if folds else piece.region))
        return placed

    def _motion(self, face: int, folds: int) -> Motion:
        last = self.folded.states[-1].faces[face]
        return last.motion if folds == len(self.folded.creases) else self.folded.motion_after(folds, last)

    def _joined(self, placed: Sequence[tuple[Piece, shapely.Polygon]], folds: int) -> tuple[Hole, ...]:
        """Holes from pieces: those clear of every edge stand alone, the others are joined where they meet."""
        alone = [(p, r) for p, r in placed if p.whole and self._alone]
        meeting = [(p, r) for p, r in placed if not (p.whole and self._alone)]
        holes = [self._hole(r, [p], folds) for p, r in alone]
        if meeting:
            union = shapely.union_all([r for _, r in meeting], grid_size=GRID)
            inner = [r.representative_point() for _, r in meeting]
            for region in shapely.get_parts(union):
                sources = [p for (p, _), q in zip(meeting, inner, strict=True) if region.covers(q)]
                holes.append(self._hole(region, sources, folds))
        return tuple(holes)

    def _hole(self, region: shapely.Polygon, sources: Iterable[Piece], folds: int) -> Hole:
        sources = list(sources)
        punches = {p.punch for p in sources}
        moved = [self.folded.states[-1].faces[p.face].moved for p in sources]
        opened = min(moved, default=0, key=int.bit_count) >> folds
        return Hole(
            region=region,
            punch=punches.pop() if len(punches) == 1 else None,
            faces=tuple(sorted({p.face for p in sources})),
            folds=tuple(folds + 1 + bit for bit in range(opened.bit_length()) if opened >> bit & 1),
        )

    def face_holes(self, folds: int) -> list[list[tuple[Piece, shapely.Polygon]]]:
        """For each face of the state after ``folds`` folds, bottom to top: the pieces on it, in that state's plane."""
        homes = list(range(len(self.folded.states[-1].faces)))
        for state in reversed(self.folded.states[folds + 1 :]):
            homes = [state.faces[home].parent for home in homes]
        out: list[list[tuple[Piece, shapely.Polygon]]] = [[] for _ in self.folded.states[folds].faces]
        for piece, region in self._placed(folds):
            out[homes[piece.face]].append((piece, region))
        return out

    def _visible(self, folds: int) -> tuple[Hole, ...]:
        """The holes that can be seen from the front when some folds took only some layers."""
        state: State = self.folded.states[folds]
        covered: shapely.Geometry = shapely.Polygon()
        seen: list[tuple[Piece, shapely.Polygon]] = []
        for face, on_face in zip(reversed(state.faces), reversed(self.face_holes(folds)), strict=True):
            for piece, region in on_face:
                open_part = shapely.difference(region, covered, grid_size=GRID)
                parts = [p for p in shapely.get_parts(open_part) if p.geom_type == "Polygon" and p.area > LEAST_AREA]
                seen += [(_as_cut(piece), part) for part in parts]
            holes = shapely.union_all([region for _, region in on_face], grid_size=GRID)
            solid = shapely.difference(shapely.Polygon(face.folded_xy), holes, grid_size=GRID)
            covered = shapely.union(covered, solid, grid_size=GRID)
        return self._joined(seen, folds)


def unfold(spec: Spec) -> Unfolding:
    """Fold, punch and unfold a spec. Raises ``FoldError`` or ``PunchError``."""
    folded = fold_sheet(spec.sheet, spec.folds)
    pieces, outlines = pieces_of(folded.states[-1], spec.punches)
    return Unfolding(spec, folded, pieces, outlines)


def _carried(region: shapely.Polygon, matrix: np.ndarray) -> shapely.Polygon:
    return shapely.transform(region, lambda xy: xy @ matrix[:, :2].T + matrix[:, 2])


def _as_cut(piece: Piece) -> Piece:
    return Piece(piece.region, piece.punch, piece.face, whole=False)


def _distinct(placed: Sequence[tuple[Piece, shapely.Polygon]]) -> list[tuple[Piece, shapely.Polygon]]:
    """One piece for each place: layers that lie on one another have the same hole."""
    cells = {}
    for piece, region in placed:
        centre = region.centroid
        cell = (piece.punch, round(centre.x * _CELL), round(centre.y * _CELL), round(region.area * _CELL))
        cells.setdefault(cell, (piece, region))
    return list(cells.values())
