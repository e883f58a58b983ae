"""Rasch difficulties by conditional maximum likelihood, and their regression on what a question is made of.

The Rasch model says: log odds of a right answer = ability - difficulty. Given how many questions a person has right,
which ones they are does not depend on ability (Andersen 1972), so difficulties can be estimated without it. The linear
logistic test model (Fischer 1973) then explains difficulties by features of the questions.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

LEAST_SITTINGS = 30
FAR, CLOSE = 12.0, 1e-7  # logits: beyond any estimate from a hundred questions, and far nearer than anybody reads


@dataclass(frozen=True)
class Difficulties:
    """Difficulties in logits that sum to 0, with standard errors; NaN for an item all or none got right."""

    difficulty: np.ndarray
    error: np.ndarray
    log_likelihood: float


def difficulties(marks: np.ndarray) -> Difficulties:
    """Estimate from a persons x items table of 0 and 1. Raises ``ValueError`` when fewer than two items vary."""
    items = marks.shape[1]
    counted = np.arange(items)
    while True:  # leaving out an item may make persons all right or all wrong, and so on until nothing changes
        used = marks[:, counted]
        total = used.sum(axis=1)
        used = used[(total > 0) & (total < len(counted))]
        varies = (used.sum(axis=0) > 0) & (used.sum(axis=0) < len(used))
        if varies.all():
            break
        counted = counted[varies]
    if len(counted) < 2:
        raise ValueError("too few questions were answered differently by different pupils")
    found, information, log_likelihood = _climb(used.astype(float))
    difficulty, error = np.full(items, np.nan), np.full(items, np.nan)
    difficulty[counted] = found
    error[counted] = np.sqrt(np.diag(_inverse(information)))
    return Difficulties(difficulty, error, log_likelihood)


def ability(right: float, difficulty: np.ndarray) -> tuple[float, float]:
    """Estimate where somebody with so many right stands on the scale of the questions' difficulties; logits and error.

    Weighted likelihood (Warm, Psychometrika 54 (1989), 427-450, cited from memory): finite for none and all right, and
    less biased than maximum likelihood in short tests. The error is that of the information there.
    """
    low, high = difficulty.min() - FAR, difficulty.max() + FAR
    while high - low > CLOSE:
        middle = (low + high) / 2
        p = 1 / (1 + np.exp(difficulty - middle))
        information = (p * (1 - p)).sum()
        weight = (p * (1 - p) * (1 - 2 * p)).sum() / (2 * information)
        low, high = (middle, high) if right - p.sum() + weight > 0 else (low, middle)
    return float((low + high) / 2), float(1 / np.sqrt(information))


def _climb(used: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Newton's method on the conditional log-likelihood, which is concave."""
    right = used.sum(axis=0)
    scores = np.bincount(used.sum(axis=1).astype(int), minlength=used.shape[1] + 1).astype(float)
    b = np.log((len(used) - right) / right)
    b -= b.mean()
    for _ in range(60):
        likelihood, expected, information = _moments(b, right, scores)
        step = _inverse(information) @ (expected - right)
        b = b + np.clip(step, -1, 1)
        b -= b.mean()
        if np.abs(step).max() < 1e-10:
            break
    likelihood, _, information = _moments(b, right, scores)
    return b, information, likelihood


def _inverse(information: np.ndarray) -> np.ndarray:
    """The inverse where there is one: shifting all difficulties alike changes nothing, so one direction has none."""
    return np.linalg.pinv(information, rcond=1e-10, hermitian=True)


def _moments(b: np.ndarray, right: np.ndarray, scores: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
    """Log-likelihood, expected numbers right, and the information matrix at difficulties ``b``."""
    ease = np.exp(-b)
    k = len(b)
    gamma = symmetric(ease)
    live = np.flatnonzero(scores)
    alone = symmetric(ease * (1 - np.eye(k)))  # row i: of all but item i
    share = np.zeros((k, k + 1))  # share[i, r]: chance that a person with r right has item i right
    share[:, 1:] = ease[:, None] * alone[:, :-1] / gamma[1:]
    first, second = np.triu_indices(k, 1)
    without = np.tile(ease, (len(first), 1))
    rows = np.arange(len(first))
    without[rows, first] = without[rows, second] = 0
    pairs = np.zeros((len(first), k + 1))  # the same for both items of each pair
    pairs[:, 2:] = (ease[first] * ease[second])[:, None] * symmetric(without)[:, :-2] / gamma[2:]
    both = np.zeros((k, k))
    both[first, second] = both[second, first] = pairs[:, live] @ scores[live]
    expected = share[:, live] @ scores[live]
    np.fill_diagonal(both, expected)
    information = both - (share[:, live] * scores[live]) @ share[:, live].T
    return float(-right @ b - scores[live] @ np.log(gamma[live])), expected, information


def symmetric(values: np.ndarray) -> np.ndarray:
    """Elementary symmetric functions of order 0 to k of each row, by adding one value at a time (sums of positives).

    A value of 0 leaves the others' functions as they are.
    """
    gamma = np.zeros((*values.shape[:-1], values.shape[-1] + 1))
    gamma[..., 0] = 1
    for n in range(values.shape[-1]):
        gamma[..., 1 : n + 2] += values[..., n, None] * gamma[..., : n + 1]
    return gamma


@dataclass(frozen=True)
class Explained:
    """How features account for difficulties: an intercept, a weight for each feature, and the share explained."""

    intercept: float
    weights: dict[str, float]
    explained: float


def explain(difficulty: np.ndarray, error: np.ndarray, features: dict[str, np.ndarray]) -> Explained:
    """Regress difficulties on features, each item weighted by how surely it is known.

    Raises ``ValueError`` when there are not at least two items more than features.
    """
    known = np.isfinite(difficulty)
    names = list(features)
    if known.sum() < len(names) + 3:
        raise ValueError("too few questions for so many features")
    x = np.column_stack([np.ones(known.sum()), *(features[name][known] for name in names)])
    y, w = difficulty[known], 1 / error[known]
    weights, *_ = np.linalg.lstsq(x * w[:, None], y * w, rcond=None)
    rest, spread = y - x @ weights, y - np.average(y, weights=w**2)
    explained = 1 - float((w**2 * rest**2).sum() / (w**2 * spread**2).sum())
    return Explained(float(weights[0]), dict(zip(names, map(float, weights[1:]), strict=True)), explained)
