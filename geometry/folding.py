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

import numpy as np
import shapely

from geometry.creases import Crease, crease_of
from geometry.cutting import join, split
from geometry.errors import CreaseError, FoldError, LayersError, NothingMovesError, SliverError
from geometry.faces import GRID, Face, State
from geometry.flaps import Part, flap_of
from geometry.plane import IDENTITY, Motion, Polygon, vertex
from geometry.spec import Fold, Sheet

__all__ = ["GRID", "Crease", "Face", "Folded", "State", "fold_sheet"]

NARROWEST = 1e-3


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
            refuse_slivers(states, sheet.across)
            raise
        creases.append(crease)
    refuse_slivers(states, sheet.across)
    return Folded(sheet, tuple(states), tuple(creases))


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


def refuse_slivers(states: Sequence[State], across: float) -> None:
    """Raise a ``SliverError`` for the first fold that cut a face so that a part is narrower than ``NARROWEST``.

    ``across`` is no less than the sheet's diameter. A part of a sliver is a sliver: so the last state tells, and mostly
    by its areas alone, whether there is one to be looked for.
    """
    small = states[-1].corners.areas() < NARROWEST * across  # a face is at least as wide as its area over its diameter
    if not any(_is_narrow(states[-1].faces[i]) for i in small.nonzero()[0]):
        return
    for number, state in enumerate(states[1:], 1):
        cut = Counter(face.parent for face in state.faces)
        if any(cut[face.parent] > 1 and _is_narrow(face) for face in state.faces):
            raise SliverError(
                f"Fold {number} would leave a strip narrower than a thousandth of the sheet.", fold=number
            )


def _is_narrow(face: Face) -> bool:
    """True when two parallel lines closer than ``NARROWEST`` hold the face between them."""
    hull = shapely.get_coordinates(shapely.MultiPoint(face.outline_xy).convex_hull)
    edges = np.diff(hull, axis=0)
    normals = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    return float(np.ptp(hull @ normals.T, axis=0).min()) < NARROWEST - 1e-12
