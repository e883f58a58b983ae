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

from geometry.errors import TooManyCornersError
from geometry.folding import Folded, fold_sheet
from geometry.joining import Joined, Placed, Shared, stitched, united
from geometry.kept import kept
from geometry.plane import Motion
from geometry.punching import Circle, Piece, circle_about, outline_of, pieces_of
from geometry.seeing import seen_pieces
from geometry.spec import Spec

MOST_CORNERS = 100_000  # of all pieces: eight folds and twelve discs
MOST_JOINED_CORNERS = 8_000  # where pieces have to be overlaid: six folds and three discs


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


@dataclass(eq=False)
class Unfolding:
    """A spec worked out: its states, its punches in the folded plane, and the holes of every state. Never changed."""

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

    @property
    def is_plain(self) -> bool:
        """True when holes can be told without an overlay: no flaps, no hollow sheet, and punches that keep apart."""
        flaps = any(crease.layers is not None for crease in self.folded.creases)
        return self.spec.sheet.is_convex and not flaps and self._apart

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
            return self._holes_of(united([((p,), p.region) for p in self.pieces]), 0)
        moved = self.folded.states[-1].moved
        holes = [Hole((p.ring,), p.punch, (p.face,), _numbers(moved[p.face], 0)) for p in self.pieces if p.whole]
        if len(holes) < len(self.pieces):
            meeting = [p for p in self.pieces if not p.whole]
            # at the hollow corners of a rim one edge may lie against two, which stitching does not see
            hollow = not self.spec.sheet.is_convex
            joined = united([((p,), p.region) for p in meeting]) if hollow else stitched(meeting)
            holes += self._holes_of(joined, 0)
        return tuple(holes)

    def _folded_holes(self, folds: int) -> tuple[Hole, ...]:
        if any(crease.layers is not None for crease in self.folded.creases):
            to_open = [moved >> folds for moved in self.folded.states[-1].moved]
            seen = seen_pieces(self.folded.states[folds], self.face_holes(folds), to_open)
            return self._holes_of(united(seen), folds)
        return self._holes_of(self._through(folds), folds)

    def _holes_of(self, joined: Sequence[Joined], folds: int) -> tuple[Hole, ...]:
        return tuple([self._hole(rings, sources, folds) for rings, sources in joined])

    def _hole(self, rings: tuple[np.ndarray, ...], sources: Sequence[Piece], folds: int) -> Hole:
        moved = self.folded.states[-1].moved
        punches = {p.punch for p in sources}
        opened = min([moved[p.face] >> folds for p in sources], key=int.bit_count)
        return Hole(
            rings=rings,
            punch=punches.pop() if len(punches) == 1 else None,
            faces=tuple(sorted({p.face for p in sources})),
            folds=_numbers(opened, folds),
        )

    def _through(self, folds: int) -> list[Joined]:
        """The holes of a state of all-layers folds. Layers that lie on one another have the same hole."""
        places: dict[tuple[int, int], dict[int, list[Piece]]] = {}  # by punch and folds to open, then by part
        moved = self.folded.states[-1].moved
        for piece in self.pieces:
            place = places.setdefault((piece.punch, moved[piece.face] >> folds), {})
            place.setdefault(piece.part, []).append(piece)
        alone: list[Joined] = []
        meeting: list[Shared] = []
        for parts in places.values():
            whole = parts[0][0] if 0 in parts else None
            together = [piece for pieces in parts.values() for piece in pieces]
            if whole is None:
                meeting += [(pieces, self._region(pieces[0], folds)) for pieces in parts.values()]
            elif self._apart:
                alone.append(((self._carried(whole.ring, whole.face, folds),), together))
            else:
                meeting.append((together, self._region(whole, folds)))
        return alone + united(meeting)

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


def unfold(spec: Spec) -> Unfolding:
    """Fold, punch and unfold a spec. Raises ``FoldError`` or ``PunchError``."""
    folded = fold_sheet(spec.sheet, spec.folds)
    outlines = tuple([outline_of(punch) for punch in spec.punches])
    circles = tuple([circle_about(punch) for punch in spec.punches])
    unfolding = Unfolding(spec, folded, pieces_of(folded.states[-1], outlines, circles), outlines, circles)
    _refuse_many_corners(unfolding)
    return unfolding


def _refuse_many_corners(unfolding: Unfolding) -> None:
    corners = sum([len(piece.ring) for piece in unfolding.pieces])
    if corners <= MOST_JOINED_CORNERS:
        return
    most = MOST_CORNERS if unfolding.is_plain else MOST_JOINED_CORNERS
    if corners > most:
        raise TooManyCornersError(
            f"The punches go through so many layers that their holes have {corners:,} corners; at most {most:,} can be "
            f"worked out{'' if most == MOST_CORNERS else ' of punches that overlap, or on such paper'}. "
            "Fewer folds, fewer punches or plainer outlines will do.",
            value=corners,
        )
