"""From a question's features to a predicted share of right answers, and back: weights fitted to answers.

A question's logit is ``easiest`` less the weighted sum of its features; the share of right answers lies between chance
and 1 on the logistic curve. Weights are never negative: what the literature calls harder (see ``difficulty``) may prove
to make no difference, but not to make a question easier. Fitted weights are drawn towards the present ones, the more so
the fewer answers there are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp
from typing import Any, NamedTuple

import numpy as np

CHANCE = 0.2
CLEAR = 0.02  # how far from chance and from 1 a share counts at most: beyond, a logit says nothing
TRUST = 20.0  # answers' worth of information that the present weights stand for
ROUNDS = 2000  # of coordinate descent; it ends sooner when nothing moves
STILL = 1e-10
STEPS = (0.82, 0.72, 0.60, 0.48)  # predicted shares below which levels 2 to 5 begin


@dataclass(frozen=True)
class Calibration:
    """``easiest`` is the logit of a question without any feature, ``weights`` what each feature takes from it."""

    easiest: float
    weights: Mapping[str, float]

    def facility(self, features: Mapping[str, float]) -> float:
        """The predicted share of right answers, between chance and 1."""
        logit = self.easiest - sum(weight * features[name] for name, weight in self.weights.items())
        return CHANCE + (1 - CHANCE) / (1 + exp(-logit))

    def to_json(self) -> dict[str, Any]:
        return {"easiest": self.easiest, "weights": dict(self.weights)}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Calibration:
        return cls(data["easiest"], dict(data["weights"]))


def level_of(facility: float) -> int:
    """1 (easy) to 5 (hard)."""
    return 1 + sum(facility < step for step in STEPS)


class Observed(NamedTuple):
    """A question's features, the share of right answers, and how many answers there were."""

    features: Mapping[str, float]
    facility: float
    answers: int


def refit(observed: Sequence[Observed], start: Calibration) -> Calibration:
    """Weights fitted to answers, none negative, starting from and drawn towards the present ones.

    Weighted least squares on logits, each question counting as much as its answers tell. Nothing observed changes
    nothing; features that a question lacks count as 0.
    """
    told = [one for one in observed if one.answers > 0]
    if not told:
        return start
    names = list(start.weights)
    rows = np.array([[1.0, *(-one.features.get(name, 0.0) for name in names)] for one in told])
    shares = np.array([_between(one) for one in told])
    logits = np.log(shares / (1 - shares))
    counts = np.array([one.answers for one in told]) * shares * (1 - shares)
    present = np.array([start.easiest, *start.weights.values()])
    matrix = rows.T @ (rows * counts[:, None]) + TRUST * np.eye(len(present))
    target = rows.T @ (counts * logits) + TRUST * present
    fitted = _least(matrix, target, present).tolist()
    return Calibration(fitted[0], dict(zip(names, fitted[1:], strict=True)))


def _between(one: Observed) -> float:
    """A share of right answers with guessing taken out, kept clear of 0 and 1."""
    share = (one.facility - CHANCE) / (1 - CHANCE)
    return min(max(share, CLEAR), 1 - CLEAR)


def _least(matrix: np.ndarray, target: np.ndarray, start: np.ndarray) -> np.ndarray:
    """The least of x'Mx/2 - t'x with all but the first of x not negative, by coordinate descent (M is definite)."""
    x = start.copy()
    for _ in range(ROUNDS):
        before = x.copy()
        for i in range(len(x)):
            best = x[i] + (target[i] - matrix[i] @ x) / matrix[i, i]
            x[i] = best if i == 0 else max(best, 0.0)
        if np.abs(x - before).max() < STILL:
            break
    return x
