"""The mistakes that wrong options stand for: each kind a faulty opening, every other opening done right.

``KINDS`` maps a kind's name to what it is. Where two kinds give the same picture, the one that stands first in it
explains the picture, since the kinds run from the particular to the general.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from geometry.marks import DECIMALS, Mark
from geometry.mistakes import copying, ordering, placing, punching, turning
from geometry.mistakes.kind import Ground, Kind, Line, Wrong
from geometry.openings import Paper

OWN = "own"  # instead of a kind: a picture that a teacher changed by hand
_GENERAL = ("no-second-layer", "wrong-line", "wrong-distance")
_listed = [k for module in (copying, placing, turning, ordering, punching) for k in module.KINDS]
KINDS: dict[str, Kind] = {k.name: k for k in sorted(_listed, key=lambda kind: kind.name in _GENERAL)}


@dataclass(frozen=True)
class Mistake:
    """One faulty opening.

    ``fold`` is the fold whose opening goes wrong; with ``before``, the mistake comes before the opening of that fold
    (the last one). ``hole`` is the place, among the holes of the state before, of the one concerned; None for all.
    ``says`` is the sentence for the pupil. ``line`` holds two points of the line mirrored in by mistake.
    """

    kind: str
    fold: int
    hole: int | None
    says: str
    before: bool = False
    line: tuple[tuple[float, float], tuple[float, float]] | None = None

    def to_json(self) -> dict[str, Any]:
        out = {"kind": self.kind, "fold": self.fold, "hole": self.hole, "says": self.says, "before": self.before}
        return out | ({"line": [list(p) for p in self.line]} if self.line else {})

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Mistake:
        line = data.get("line")
        ends = ((line[0][0], line[0][1]), (line[1][0], line[1][1])) if line else None
        return cls(data["kind"], data["fold"], data["hole"], data["says"], data.get("before", False), ends)


@dataclass(frozen=True, eq=False)
class Made:
    """A mistake made: the holes, with their layers, of the state in which the first ``folds`` folds are still made."""

    mistake: Mistake
    marks: tuple[Mark, ...]
    folds: int


def faulty_openings(paper: Paper, marks: Sequence[Mark], number: int, kinds: Iterable[str] = KINDS) -> Iterator[Made]:
    """Every mistake that can be made at the opening of fold ``number``, given the holes before it.

    At the last fold these include the mistakes made before any opening. Results with a hole across an edge of the
    folded paper, or off it where it should lie on it, are left out: they are no pictures that paper could show.
    """
    opening = paper.opening(number)
    ground = Ground(paper, opening, opening.split(marks))
    for name in kinds:
        for wrong in KINDS[name].faulty(ground):
            settled = paper.settle(wrong.marks, wrong.folds, drop=wrong.drop)
            if settled:
                yield made_of(name, number, wrong, settled)


def made_of(kind: str, number: int, wrong: Wrong, settled: tuple[Mark, ...]) -> Made:
    """A faulty opening as a mistake of a kind, its holes asked which paper they lie on."""
    return Made(_mistake(kind, number, wrong), settled, wrong.folds)


def _mistake(kind: str, number: int, wrong: Wrong) -> Mistake:
    if wrong.before:
        says = f"Before opening fold {number}: {wrong.says}"
    elif kind == "wrong-order":
        says = wrong.says[0].upper() + wrong.says[1:]
    else:
        says = f"Opening fold {number}: {wrong.says}"
    return Mistake(kind, number, wrong.hole, says, wrong.before, _ends(wrong.line))


def _ends(line: Line | None) -> tuple[tuple[float, float], tuple[float, float]] | None:
    if line is None:
        return None
    through, along = line
    a, b = through, through + along / abs(along)
    return (_rounded(a), _rounded(b))


def _rounded(z: complex) -> tuple[float, float]:
    return round(z.real, DECIMALS), round(z.imag, DECIMALS)


def right_states(paper: Paper, marks: Sequence[Mark]) -> list[tuple[Mark, ...]]:
    """The holes of every state, opened rightly: item k when the first k folds are still made."""
    states = [tuple(marks)]
    for number in range(paper.count, 0, -1):
        states.append(paper.opening(number).open(states[-1]))
    return states[::-1]
