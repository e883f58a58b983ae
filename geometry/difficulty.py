"""How hard a question is likely to be: named features, a level from 1 to 5, and a predicted facility.

Uncalibrated: the weights are choices, their signs are not. More folds and more layers are slower and harder (Salthouse
et al. 1989; Dahm and Draxler 2022); slanting creases are harder than straight ones (Harris and Lowrie 2024); off-centre
folds, where only part of the paper doubles, are harder (Burte et al. 2019, from memory); telling a mirror image from a
turned one is a known stumbling block (Year 6, Owens). Options that share the key's number of holes cannot be struck
out by counting. The features are kept beside the level, so that answers can refit the weights (``calibration.refit``).
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from math import log2
from typing import Any, Protocol

from geometry.calibration import STEPS, Calibration, level_of
from geometry.folding import Folded
from geometry.marks import Mark
from geometry.openings import Paper
from geometry.telling_apart import READABLE

WEIGHTS = {
    "folds": 0.55,
    "doublings": 0.3,
    "slanting": 0.35,
    "oblique": 0.35,
    "partial": 0.4,
    "flaps": 0.5,
    "turning": 0.3,
    "shapes": 0.25,
    "late": 0.15,
    "same_count": 0.1,
    "likeness": 0.6,
}
UNCALIBRATED = Calibration(easiest=4.4, weights=WEIGHTS)


@dataclass(frozen=True)
class Difficulty:
    """``level`` 1 to 5, ``facility`` the predicted share of right answers, ``features`` what both come from."""

    level: int
    facility: float
    features: dict[str, float]

    def to_json(self) -> dict[str, Any]:
        return {"level": self.level, "facility": self.facility, "features": dict(self.features)}

    @classmethod
    def of(cls, features: dict[str, float], calibration: Calibration = UNCALIBRATED) -> Difficulty:
        """What a calibration makes of features, freshly found or stored."""
        facility = calibration.facility(features)
        return cls(level_of(facility), round(facility, 3), features)

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Difficulty:
        return cls(data["level"], data["facility"], dict(data["features"]))


class Picture(Protocol):
    """A flat sheet's holes, and the same as keys: equal for holes that look the same."""

    @property
    def marks(self) -> Sequence[Any]: ...

    @property
    def keys(self) -> Set[Any]: ...


def difficulty_of(stem: dict[str, float], key: Picture, others: Sequence[Picture], late: int) -> Difficulty:
    """The difficulty of a stem (``stem_features``) among its options.

    ``late`` is how many wrong options are right until the last opening.
    """
    common = [len(key.keys & other.keys) / max(len(key.keys), len(other.keys)) for other in others]
    features = stem | {
        "holes": len(key.marks),
        "late": late,
        "same_count": sum(len(other.marks) == len(key.marks) for other in others),
        "likeness": round(max(common, default=0.0), 3),
    }
    return Difficulty.of(features)


def facilities_of(level: int) -> dict[str, float]:
    """The predicted facilities that make a level from 1 to 5: from "low" to "high"."""
    edges = (1.0, *STEPS, 0.0)
    return {"low": edges[level], "high": edges[level - 1]}


def stem_features(paper: Paper, states: Sequence[Sequence[Mark]]) -> dict[str, float]:
    """What the folds and punches alone contribute. ``states[k]`` holds the marks after the first k folds."""
    punches = states[-1]
    layers = max((len(mark.layers or ()) for mark in punches), default=0)
    slants = [_slant(paper.folded, number) for number in range(1, paper.count + 1)]
    return {
        "folds": paper.count,
        "punches": len({(mark.cut.label, mark.at) for mark in punches}),
        "layers": layers,
        "doublings": round(log2(layers), 3) if layers else 0,
        "slanting": sum(slant > 0 for slant in slants),
        "oblique": sum(slant == 2 for slant in slants),
        "partial": sum(_is_partial(paper, states, number) for number in range(1, paper.count + 1)),
        "flaps": sum(crease.layers is not None for crease in paper.folded.creases),
        "turning": int(any(m.cut.shows_turning and m.cut.size >= READABLE for m in punches)),
        "shapes": len({mark.cut.label for mark in punches}) - 1,
    }


def _slant(folded: Folded, number: int) -> int:
    """0 for a straight crease, 1 for a diagonal one, 2 for any other."""
    a, b, _ = folded.creases[number - 1].line
    if a == 0 or b == 0:
        return 0
    return 1 if abs(a) == abs(b) else 2


def _is_partial(paper: Paper, states: Sequence[Sequence[Mark]], number: int) -> bool:
    """True when an opening finds some hole in one layer only."""
    return any(not split.is_pair for split in paper.opening(number).split(states[number]))
