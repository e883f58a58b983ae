"""Why a question has its difficulty, in a teacher's words, from the features that ``geometry`` found.

Only what makes a question harder is said, so that a short list means an easy question.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from geometry.words import number as in_words

Features = Mapping[str, float]

# One more of each, as a table of weights says it.
FEATURE_WORDS = {
    "folds": "fold",
    "doublings": "opening that doubles holes",
    "slanting": "slanting crease",
    "oblique": "crease at another angle than 45°",
    "partial": "opening that doubles some holes only",
    "flaps": "fold of the top layers only",
    "turning": "shape that shows its turning",
    "shapes": "different shape",
    "late": "wrong option right until the last opening",
    "same_count": "wrong option with as many holes as the key",
    "likeness": "likeness of the nearest wrong option",
}


def reasons_for(difficulty: Mapping[str, Any]) -> list[str]:
    """Return phrases such as "three folds, one of them slanting" for a difficulty's JSON."""
    features = {name: difficulty["features"].get(name, 0) for name in _NAMES}
    said = [say(features) for say in _SAYINGS]
    return [_capital(reason) for reason in said if reason]


def expected_facility(difficulty: Mapping[str, Any]) -> str:
    """Return the predicted share of right answers as a sentence that says how far to trust it."""
    if "facility" not in difficulty:
        return ""
    share = f"{difficulty['facility']:.2f}".removeprefix("0")
    return f"Expected facility about {share}: worked out from these, not yet from answers."


def _folds(f: Features) -> str:
    count, slanting, oblique = int(f["folds"]), int(f["slanting"]), int(f["oblique"])
    told = f"{in_words(count)} {_plural(count, 'fold')}"
    if slanting:
        told += f", {in_words(slanting)} of them slanting"
    return f"{told}, {in_words(oblique)} at another angle than 45°" if oblique else told


def _layers(f: Features) -> str:
    return f"up to {in_words(int(f['layers']))} layers under a punch" if f["layers"] > 2 else ""


def _partial(f: Features) -> str:
    return "some holes double when a fold opens and others do not" if f["partial"] else ""


def _flaps(f: Features) -> str:
    count = int(f["flaps"])
    return f"{in_words(count)} {_plural(count, 'fold')} of the top layers only" if count else ""


def _turning(f: Features) -> str:
    return "the shape shows which way it was turned" if f["turning"] else ""


def _shapes(f: Features) -> str:
    count = int(f["shapes"]) + 1
    return f"{in_words(count)} different shapes" if count > 1 else ""


def _late(f: Features) -> str:
    count = int(f["late"])
    return f"{in_words(count)} wrong {_plural(count, 'option')} right until the last opening" if count else ""


def _same_count(f: Features) -> str:
    count = int(f["same_count"])
    return f"{in_words(count)} wrong {_plural(count, 'option')} with as many holes as the key" if count else ""


_SAYINGS: tuple[Callable[[Features], str], ...] = (
    *(_folds, _layers, _partial, _flaps),
    *(_turning, _shapes, _late, _same_count),
)
_NAMES = ("folds", "slanting", "oblique", "layers", "partial", "flaps", "turning", "shapes", "late", "same_count")


def _plural(count: int, word: str) -> str:
    return word if count == 1 else f"{word}s"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]
