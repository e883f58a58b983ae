"""Fingerprints: the same for two specs that ask the same question.

What is fixed is what happens to the paper: the line of each fold with the side that moves, which faces on that side
stay because the fold takes some layers only, and the punches. So two names of one crease, ``over`` or ``behind`` where
it changes nothing, and ``layers`` that amount to all make no difference; nor do the symmetries of the sheet, since the
least of its images is taken.

Near repeats are known by their ``Kin``: the same folds, and punches so near that one could be taken for the other.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import lru_cache
from math import dist
from typing import NamedTuple

import numpy as np

from geometry.folding import Folded, fold_sheet
from geometry.marks import CELL, Isometry, Mark, half_turn_about, reflection_in, unit
from geometry.openings import cut_of
from geometry.plane import side, to_xy
from geometry.spec import Punch, Sheet, Spec
from geometry.telling_apart import NEAR

FINEST_ROTATION = 12  # the most turns tried: all regular sheets but the disc have fewer symmetries
PLACES = 6  # decimals of a punch's place

Cells = tuple[int | bool | str, ...]
Place = Sequence[float]  # x and y, in sheet widths


class Kin(NamedTuple):
    """What near repeats share. ``folds`` is equal for the same folds, however the sheet lies and whatever is punched.

    ``positions`` are the places of the punches, once for each position of the sheet in which the folds look so.
    """

    folds: str
    positions: Sequence[Sequence[Place]]

    def is_near(self, other: Kin) -> bool:
        """True for the same folds, and as many punches, each within a twelfth of the sheet of one of the other's."""
        return self.folds == other.folds and any(_stand_near(self.positions[0], there) for there in other.positions)


def fingerprint(spec: Spec) -> str:
    """64 hexadecimal digits. Raises ``FoldError`` for folds that paper cannot make."""
    return fingerprint_of(fold_sheet(spec.sheet, spec.folds), spec.punches)


def fingerprint_of(folded: Folded, punches: Sequence[Punch]) -> str:
    """The fingerprint of folded paper and the punches made in it."""
    marks = [_mark(punch) for punch in punches]
    folds = _folds(folded)
    images = [
        (_image(motion, folds), sorted(_exactly(motion.mark(mark)) for mark in marks))
        for motion in symmetries(folded.sheet)
    ]
    return _digest((_outline(folded.sheet), min(images)))


def kin_of(folded: Folded, punches: Sequence[Punch]) -> Kin:
    """What folded paper and the punches made in it share with near repeats."""
    centres, folds = [_mark(punch).at for punch in punches], _folds(folded)
    images = [(_image(motion, folds), motion) for motion in symmetries(folded.sheet)]
    least = min(image for image, _ in images)
    positions = [[motion.point(at) for at in centres] for image, motion in images if image == least]
    rounded = [[[round(z.real, PLACES), round(z.imag, PLACES)] for z in position] for position in positions]
    return Kin(_digest((_outline(folded.sheet), least)), rounded)


def _stand_near(here: Sequence[Place], there: Sequence[Place]) -> bool:
    """True when the punches of both can be paired so that no two of a pair are farther apart than ``NEAR``."""
    if len(here) != len(there):
        return False
    if not here:
        return True
    near = (i for i, place in enumerate(there) if dist(here[0], place) < NEAR)
    return any(_stand_near(here[1:], [*there[:i], *there[i + 1 :]]) for i in near)


def _mark(punch: Punch) -> Mark:
    return Mark(cut_of(punch), complex(*map(float, punch.at)), unit(float(punch.turn)))


def _exactly(mark: Mark) -> Cells:
    """A punch's place, shape and turn. An outline of one's own is told by its corners, wherever it starts."""
    if not mark.cut.name.startswith("outline"):
        return mark.key()
    corners = sorted(_cell(complex(x, y)) for x, y in mark.rings()[0].tolist())
    return ("outline", *(n for corner in corners for n in corner))


def _outline(sheet: Sheet) -> list[tuple[int, int]]:
    return sorted(_cell(complex(x, y)) for x, y in to_xy(sheet.outline).tolist())


def _digest(described: object) -> str:
    return hashlib.sha256(repr(described).encode()).hexdigest()


Folding = list[tuple[complex, complex, list[complex]]]


def _folds(folded: Folded) -> Folding:
    """Of each fold: a point of its crease, the direction of the moving side, and the flat places of faces left."""
    found = []
    for state, crease in zip(folded.states[1:], folded.creases, strict=True):
        a, b, c = crease.line
        normal = complex(a, b) / (a * a + b * b) ** 0.5
        bit = 1 << (crease.number - 1)
        left = [
            complex(*face.outline_xy.mean(axis=0).tolist())
            for face in state.faces
            if not face.moved & bit and any(side(crease.line, v) > 0 for v in face.folded)
        ]
        found.append((-normal * c / (a * a + b * b) ** 0.5, normal, left))
    return found


def _image(motion: Isometry, folds: Folding) -> list[tuple[tuple[int, int], int, list[tuple[int, int]]]]:
    """The folds under a symmetry of the sheet, rounded."""
    origin = motion.point(0j)
    out = []
    for through, normal, left in folds:
        towards = motion.point(normal) - origin
        offset = (towards.conjugate() * motion.point(through)).real
        out.append((_cell(towards), round(offset * CELL), sorted(_cell(motion.point(z)) for z in left)))
    return out


def _cell(z: complex) -> tuple[int, int]:
    return round(z.real * CELL), round(z.imag * CELL)


@lru_cache(maxsize=64)
def symmetries(sheet: Sheet) -> tuple[Isometry, ...]:
    """The isometries that carry the sheet onto itself. Regular sheets with rounded corners keep the exact ones only."""
    xy = to_xy(sheet.outline)
    centre = _centre(xy)
    flip = reflection_in(centre, 1 + 0j)
    found = []
    for i in range(FINEST_ROTATION):
        turn = _about_point(centre, unit(360 * i / FINEST_ROTATION))
        found += [m for m in (turn, _after(turn, flip)) if _maps_onto_itself(m, xy)]
    return tuple(found)


def _about_point(centre: complex, u: complex) -> Isometry:
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
