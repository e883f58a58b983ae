"""Holes set by hand: a picture's holes as shapes with a place and a turn, and what is wrong with a picture so made.

A hole is read off a picture by laying each punch's shape on it, turned and turned over, until every corner agrees; what
no shape fits (pieces that an edge cut off, or that ran together) keeps its own outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import atan2, degrees

import numpy as np
import shapely

from geometry.flat import LOST, Flat, is_clear_of_rim
from geometry.folding import GRID
from geometry.marks import DECIMALS, Cut, Mark, unit
from geometry.mistakes import OWN, Mistake
from geometry.openings import Paper, cut_of, fragment
from geometry.unfolding import Unfolding

AGREES = 1e-6  # sheet widths between corners that are one
UNLIKE = 1e-7  # area by which two pictures of one part of the sheet may differ
PIECE = -1  # instead of a punch's place: a hole with an outline of its own


@dataclass(frozen=True)
class HandHole:
    """A hole by hand: which punch's shape (or ``PIECE``), where its centre lies, its turn in degrees, anticlockwise.

    ``over`` is True when the shape is turned over (left for right) before it is turned. ``points`` is a piece's outline
    about its centre.
    """

    punch: int
    at: tuple[float, float]
    turn: float = 0.0
    over: bool = False
    points: tuple[tuple[float, float], ...] = ()


def cuts_of(unfolding: Unfolding) -> tuple[Cut, ...]:
    """The shapes of a question's punches, each in the pose it is drawn in."""
    return tuple(cut_of(punch) for punch in unfolding.spec.punches)


def mark_of(hole: HandHole, cuts: Sequence[Cut]) -> Mark:
    """The hole as a mark. Raises ``IndexError`` for a punch that is not there."""
    at, u = complex(*hole.at), unit(hole.turn)
    if hole.punch != PIECE:
        return Mark(cuts[hole.punch], at, u, hole.over)
    piece = fragment(shapely.Polygon(hole.points), "hole")
    return Mark(piece.cut, at + u * (piece.at.conjugate() if hole.over else piece.at), u, hole.over)


def read_holes(holes: Sequence[shapely.Polygon], cuts: Sequence[Cut]) -> tuple[HandHole, ...]:
    """A picture's holes as shapes with a place and a turn."""
    return tuple(_read(hole, cuts) for hole in holes)


def _read(hole: shapely.Polygon, cuts: Sequence[Cut]) -> HandHole:
    xy = np.asarray(hole.exterior.coords)[:-1]
    ring = xy[:, 0] + 1j * xy[:, 1]
    for punch, cut in enumerate(cuts):
        pose = _pose(ring, cut.rings[0]) if not hole.interiors else None
        if pose is not None:
            at, u, over = pose
            return HandHole(punch, _rounded(at), round(degrees(atan2(u.imag, u.real)), 6) % 360, over)
    middle = complex(hole.centroid.x, hole.centroid.y)
    return HandHole(PIECE, _rounded(middle), points=tuple(_rounded(z) for z in ring - middle))


def _pose(ring: np.ndarray, drawn: np.ndarray) -> tuple[complex, complex, bool] | None:
    """Where the drawn shape must lie to give the ring, with the least turn: its centre, its turn, whether over."""
    if len(ring) != len(drawn):
        return None
    found = []
    for over in (False, True):
        shape = drawn.conj()[::-1] if over else drawn
        for start in range(len(shape)):
            laid = np.roll(shape, -start)
            u = (ring[0] - ring.mean()) / (laid[0] - laid.mean()) if abs(laid[0] - laid.mean()) > AGREES else 1 + 0j
            if abs(abs(u) - 1) < AGREES and np.abs(ring - ring.mean() - u * (laid - laid.mean())).max() < AGREES:
                found.append((ring.mean() - u * laid.mean(), u / abs(u), over))
    return min(found, key=lambda pose: (pose[2], round(abs(atan2(pose[1].imag, pose[1].real)), 6)), default=None)


def _rounded(z: complex) -> tuple[float, float]:
    return round(float(z.real), DECIMALS) + 0.0, round(float(z.imag), DECIMALS) + 0.0


def faults_by_hand(paper: Paper, marks: Sequence[Mark], key: Flat) -> list[str]:
    """What keeps a picture made by hand from being an option, a sentence for each fault; none when all is well."""
    if not marks:
        return ["A picture needs one hole at least."]
    (sheet,) = paper.layers(0)
    said = [
        f"Hole {number} lies across the edge of the sheet, too near it, or off it."
        for number, mark in enumerate(marks, 1)
        if mark.key() not in key.keys and not is_clear_of_rim(sheet, mark)
    ]
    for (m, p), (n, q) in combinations(enumerate(marks, 1), 2):
        near = abs(p.middle - q.middle) < p.cut.size + q.cut.size
        if near and shapely.intersection(p.region(), q.region(), grid_size=GRID).area > LOST:
            said.append(f"Holes {m} and {n} lie over one another.")
    if said:
        return said
    flat = Flat(tuple(marks))
    if flat.keys == key.keys:
        return ["This is the right answer: change something."]
    return [] if flat.is_apart_from(key) else ["This looks too much like the right answer."]


def own_mistake(unfolding: Unfolding, holes: Sequence[shapely.Polygon]) -> Mistake:
    """The mistake that a picture made by hand stands for: none with a name, but seen when some fold opens.

    The paper that no fold below ``k`` moves already lies where it will lie when fold ``k`` has been opened; so the
    first wrong opening is the first after which that part of the picture is not the true one.
    """
    shown = shapely.union_all(list(holes), grid_size=GRID)
    truth = shapely.union_all([hole.region for hole in unfolding.holes()], grid_size=GRID)
    wrong = shapely.symmetric_difference(shown, truth, grid_size=GRID)
    states = unfolding.folded.states
    for number in range(len(states) - 1, -1, -1):
        lying = [shapely.Polygon(face.outline_xy) for face in states[number].faces if not face.moved]
        there = shapely.union_all(lying, grid_size=GRID)
        if number == 0 or shapely.intersection(wrong, there, grid_size=GRID).area > UNLIKE:
            break
    before = number == len(states) - 1
    fold = max(1, number if before else number + 1)
    when = f"Before opening fold {fold}" if before else f"Opening fold {fold}"
    return Mistake(OWN, fold, None, f"{when}: made by hand, so no mistake has a name for it.", before)
