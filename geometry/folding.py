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
from math import log10

import numpy as np
import shapely

from geometry.creases import Crease, crease_of
from geometry.cutting import join, split
from geometry.errors import (
    CreaseError,
    FoldError,
    LayersError,
    NothingMovesError,
    SliverError,
    TooFineError,
    TooManyPiecesError,
)
from geometry.faces import GRID, Face, Row, State
from geometry.flaps import Part, flap_of
from geometry.plane import IDENTITY, Motion, Polygon, vertex
from geometry.spec import Fold, Sheet

__all__ = ["GRID", "Crease", "Face", "Folded", "State", "fold_sheet"]

NARROWEST = 1e-3
MOST_PIECES = 512  # eight folds of a sheet that is convex make 256 at most
MOST_DIGITS = 1_000  # of all creases' exact numbers together; eight creases given by floats have half as many


@dataclass(eq=False)
class Folded:
    """Every state from the flat sheet (``states[0]``) to all folds made, and the crease of each fold. Never changed."""

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
    states = [State([(sheet.outline, IDENTITY, 0, 0)], sheet.is_convex)]
    creases: list[Crease] = []
    bits = 0
    for number, one in enumerate(folds, 1):
        try:
            crease = crease_of(one, number)
            bits += max(map(int.bit_length, crease.line))
            _refuse_long_numbers(bits, number)
            states.append(fold_once(states[-1], crease))
            _refuse_many_pieces(len(states[-1].rows), number)
        except FoldError:
            refuse_slivers(states)
            raise
        creases.append(crease)
    refuse_slivers(states)
    return Folded(sheet, tuple(states), tuple(creases))


def _refuse_long_numbers(bits: int, number: int) -> None:
    """Exact numbers grow by each crease's own; and the time that folding takes, with them."""
    if (digits := int(bits * log10(2))) > MOST_DIGITS:
        raise TooFineError(
            f"Fold {number} brings the creases' exact numbers to {digits:,} digits; at most {MOST_DIGITS:,} can be "
            "folded. Shorter fractions will do.",
            fold=number,
            value=digits,
        )


def _refuse_many_pieces(pieces: int, number: int) -> None:
    if pieces > MOST_PIECES:
        raise TooManyPiecesError(
            f"Fold {number} creases the paper into {pieces:,} pieces; at most {MOST_PIECES} can be worked out.",
            fold=number,
            value=pieces,
        )


def fold_once(state: State, crease: Crease) -> State:
    """The state after one more fold (slivers are not looked for)."""
    cuts: Sequence[Cut] = [split(flat, motion.pull_back(crease.line)) for flat, motion, _, _ in state.rows]
    if crease.layers is not None:
        cuts = _flap(state, cuts, crease)
    motions: dict[int, Motion] = {}  # by the folds made; faces moved by the same folds have one motion
    bit = 1 << (crease.number - 1)
    staying: list[Row] = []
    turned: list[Row] = []
    for index, ((_, motion, moved, _), (moving, still)) in enumerate(zip(state.rows, cuts, strict=True)):
        for piece in still:
            staying.append((piece, motion, moved, index))
        if moving:
            if moved not in motions:
                motions[moved] = crease.motion @ motion
            for piece in moving:
                turned.append((piece, motions[moved], moved | bit, index))
    _refuse_rim(crease, moving=bool(turned), staying=bool(staying))
    turned.reverse()
    return State(staying + turned if crease.way == "over" else turned + staying, state.sheet_is_convex)


Cut = tuple[list[Polygon], list[Polygon]]  # of a face: its pieces that move (or may), and those that stay


def _refuse_rim(crease: Crease, *, moving: bool, staying: bool) -> None:
    """Raise a ``FoldError`` unless a crease has paper on the side that moves and on the other."""
    k = crease.number
    if not moving:
        raise NothingMovesError(f"Fold {k} moves nothing: no paper lies on that side of its crease.", fold=k)
    if not staying:
        raise CreaseError(f"The crease of fold {k} misses the paper or only touches its rim.", fold=k)


def _flap(state: State, cuts: Sequence[Cut], crease: Crease) -> list[Cut]:
    """For each face, the pieces that go with the layers taken at the grip, and what of the face stays."""
    _refuse_rim(crease, moving=any(moving for moving, _ in cuts), staying=any(still for _, still in cuts))
    taken = _taken(state, cuts, crease)
    out: list[Cut] = []
    for (flat, motion, _, _), (moving, still), gone in zip(state.rows, cuts, taken, strict=True):
        if not gone:
            still = [flat]  # a face of which nothing is taken keeps no trace of the crease
        elif len(gone) < len(moving):
            kept = [piece for piece in moving if piece not in gone]
            still = join(still + kept, motion.pull_back(crease.line))
        out.append((gone, still))
    return out


def _taken(state: State, cuts: Sequence[Cut], crease: Crease) -> list[list[Polygon]]:
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

    A part of a sliver is a sliver: so the last state tells whether there is one to be looked for.
    """
    if not _narrow(states[-1]):
        return
    for number, state in enumerate(states[1:], 1):
        cut = Counter(parent for *_, parent in state.rows)
        if any(cut[state.rows[i][-1]] > 1 for i in _narrow(state)):
            raise SliverError(
                f"Fold {number} would leave a strip narrower than a thousandth of the sheet.", fold=number
            )


def _narrow(state: State) -> list[int]:
    """Which faces two parallel lines closer than ``NARROWEST`` hold between them. Mostly areas alone rule that out."""
    sizes = state.corners.sizes.tolist()
    suspects = [i for i, size in enumerate(sizes) if size.imag < NARROWEST * size.real]
    return [i for i in suspects if _width(state, i) < NARROWEST - 1e-12]


def _width(state: State, i: int) -> float:
    """The least distance of two parallel lines that hold a face between them."""
    rim = state.corners.at[state.corners.starts[i] : state.corners.ends[i]]
    if not state.sheet_is_convex:
        rim = shapely.get_coordinates(shapely.MultiPoint(state.faces[i].outline_xy).convex_hull).view(complex)[:-1, 0]
    edges = np.roll(rim, -1) - rim
    heights = (edges.conj()[:, None] * (rim - rim[:, None])).imag / np.abs(edges)[:, None]
    return float(np.ptp(heights, axis=1).min())
