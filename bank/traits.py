"""What of its current version a question keeps by itself, so that thousands are filtered without reading specs.

Creases, shapes and mistakes are words with a space before and after each, in order: `` diagonal straight ``. So one
word is found by looking for it between spaces, and equal sets are equal texts, which a database can count.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from geometry.creasing import DIAGONAL, OBLIQUE, STRAIGHT


def facts_of(content: Mapping[str, Any]) -> dict[str, Any]:
    """Return a question's own columns for a version's ``content`` (as ``bank.services.questions.content_of``)."""
    options = content["options"]["options"]
    return {
        "level": content["level"],
        "folds": content["folds"],
        "creases": words(creases_of(content["difficulty"].get("features", {}))),
        "shapes": words(punch["shape"] for punch in content["spec"]["punches"]),
        "mistakes": words(mistake["kind"] for option in options for mistake in option["mistakes"]),
    }


def creases_of(features: Mapping[str, float]) -> Iterable[str]:
    """Yield the kinds of crease that the counts of a difficulty's features tell of."""
    folds, slanting, oblique = (features.get(name, 0) for name in ("folds", "slanting", "oblique"))
    if folds > slanting:
        yield STRAIGHT
    if slanting > oblique:
        yield DIAGONAL
    if oblique:
        yield OBLIQUE


def words(found: Iterable[str]) -> str:
    """Return the words as they are kept, or "" for none."""
    return "".join(f" {word}" for word in sorted(set(found))) + " " if (found := list(found)) else ""
