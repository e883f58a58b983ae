"""Fingerprints: the same for two specs that ask the same question.

What is fixed is what happens to the paper: which pieces of the sheet each fold turns over, in which crease, and where
the holes are punched. So two names of one crease, ``over`` or ``behind`` where it changes no layer, and ``layers`` that
amount to all, make no difference; nor do the symmetries of the sheet, since the least of its images is taken.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from functools import cache

import numpy as np

from geometry.folding import Folded
from geometry.marks import CELL, Isometry, Mark, half_turn_about, reflection_in, unit
from geometry.openings import punched
from geometry.plane import to_xy
from geometry.spec import Sheet, Spec
from geometry.unfolding import Unfolding, unfold

FINEST_ROTATION = 12  # the most turns tried: all regular sheets but the disc have fewer symmetries
KIN = 1 / 12  # sheet widths: near repeats agree to within about this

Numbers = tuple[int | str, ...]


def fingerprint(question: Spec | Unfolding) -> str:
    """64 hexadecimal digits. Raises ``FoldError`` or ``PunchError`` for a spec that cannot be made."""
    unfolding = unfold(question) if isinstance(question, Spec) else question
    marks = punched(unfolding)
    return _digest(unfolding.folded, marks, lambda mark: mark.key())


def kin_fingerprint(question: Spec | Unfolding) -> str:
    """The same for near repeats: equal folds, and punches in about the same places, of whatever shape."""
    unfolding = unfold(question) if isinstance(question, Spec) else question

    def coarse(mark: Mark) -> Numbers:
        return (round(mark.at.real / KIN - 0.01), round(mark.at.imag / KIN - 0.01))

    return _digest(unfolding.folded, punched(unfolding), coarse)


def _digest(folded: Folded, marks: tuple[Mark, ...], describe: Callable[[Mark], Numbers]) -> str:
    images = [
        repr((_folding(folded, motion), sorted(describe(motion.mark(mark)) for mark in marks)))
        for motion in symmetries(folded.sheet)
    ]
    return hashlib.sha256(min(images).encode()).hexdigest()


def _folding(folded: Folded, motion: Isometry) -> tuple[Numbers, ...]:
    """Which pieces of the sheet are turned over by which folds, and where they come to lie, under a symmetry."""
    pieces = []
    for face in folded.states[-1].faces:
        corners = sorted(_cells(motion, face.outline_xy))
        folded_corners = sorted(_cells(motion, face.folded_xy))
        pieces.append((face.moved, *(n for pair in corners + folded_corners for n in pair)))
    return tuple(sorted(pieces))


def _cells(motion: Isometry, xy: np.ndarray) -> Iterator[tuple[int, int]]:
    for x, y in xy.tolist():
        z = motion.point(complex(x, y))
        yield round(z.real * CELL), round(z.imag * CELL)


@cache
def symmetries(sheet: Sheet) -> tuple[Isometry, ...]:
    """The isometries that carry the sheet onto itself. Regular sheets with rounded corners keep the exact ones only."""
    xy = to_xy(sheet.outline)
    centre = _centre(xy)
    flip = reflection_in(centre, 1 + 0j)
    found = []
    for i in range(FINEST_ROTATION):
        turn = _about(centre, unit(360 * i / FINEST_ROTATION))
        found += [m for m in (turn, _after(turn, flip)) if _maps_onto_itself(m, xy)]
    return tuple(found)


def _about(centre: complex, u: complex) -> Isometry:
    return half_turn_about(centre) if u == -1 else Isometry(u, centre - u * centre, False)


def _after(turn: Isometry, flip: Isometry) -> Isometry:
    return Isometry(turn.u * flip.u, turn.u * flip.t + turn.t, True)


def _centre(xy: np.ndarray) -> complex:
    """The centroid of the outline."""
    z = xy[:, 0] + 1j * xy[:, 1]
    following = np.roll(z, -1)
    cross = z.real * following.imag - following.real * z.imag
    return complex(((z + following) * cross).sum() / (3 * cross.sum()))


def _maps_onto_itself(motion: Isometry, xy: np.ndarray) -> bool:
    z = xy[:, 0] + 1j * xy[:, 1]
    image = np.array([motion.point(v) for v in z.tolist()])
    return bool((np.abs(image[:, None] - z[None, :]).min(axis=1) < 1e-9).all())
