"""What changed from one version of a question to the next, in words, and which pictures show it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from bank.models import Version
from geometry.words import with_article

Json = dict[str, Any]


@dataclass(frozen=True)
class Changes:
    """``says`` are sentences; ``paper`` tells that the stem differs, ``key`` that the right answer does.

    ``options`` are the letters, the key's apart, whose picture is another than before.
    """

    says: tuple[str, ...]
    paper: bool
    key: bool
    options: tuple[str, ...]


def changes_between(before: Version, after: Version) -> Changes:
    """Return what is other in ``after``."""
    old, new = _holes(before), _holes(after)
    changed = tuple(letter for letter in sorted(old.keys() | new.keys()) if old.get(letter) != new.get(letter))
    says = [
        *_of_paper(before.spec, after.spec),
        *_of_key(before, after, old, new),
        *_of_options(changed, before, after),
    ]
    if before.level != after.level:
        says.append(f"Difficulty {before.level} became {after.level}.")
    return Changes(
        says=tuple(says) or ("Only the words of its options or checks changed.",),
        paper=before.spec != after.spec,
        key=old.get(before.key) != new.get(after.key),
        options=tuple(letter for letter in changed if letter not in (before.key, after.key)),
    )


def _holes(version: Version) -> dict[str, Any]:
    """The picture of each option, by its letter."""
    return {option["label"]: option["holes"] for option in version.options["options"]}


def _of_paper(before: Json, after: Json) -> Iterator[str]:
    old, new = before["sheet"], after["sheet"]
    if old["kind"] != new["kind"]:
        yield f"The sheet is a {new['kind']} now, not a {old['kind']}."
    elif old != new:
        yield "The sheet has another size or outline."
    yield from _of_rows("Fold", before["folds"], after["folds"], _of_fold)
    yield from _of_rows("Punch", before["punches"], after["punches"], _of_punch)


def _of_rows(name: str, before: Sequence[Json], after: Sequence[Json], tell: Any) -> Iterator[str]:
    for number, (old, new) in enumerate(zip(before, after, strict=False), 1):
        if old != new:
            yield f"{name} {number} {' and '.join(tell(old, new)) or 'is another'}."
    for number in range(len(before) + 1, len(after) + 1):
        yield f"{name} {number} is new."
    for number in range(len(after) + 1, len(before) + 1):
        yield f"{name} {number} is gone."


def _of_fold(old: Json, new: Json) -> list[str]:
    says = []
    if any(old.get(name) != new.get(name) for name in ("crease", "moves", "bring", "to")):
        says.append("runs along another line")
    if old["way"] != new["way"]:
        says.append("goes behind" if new["way"] == "behind" else "goes over the front")
    if old["layers"] != new["layers"]:
        says.append("takes all layers" if new["layers"] == "all" else f"takes {new['layers']} of the layers")
    return says


def _of_punch(old: Json, new: Json) -> list[str]:
    says = []
    if old["shape"] != new["shape"] or old.get("points") != new.get("points"):
        says.append(f"is {_shape(new)}, no longer {_shape(old)}")
    if old["at"] != new["at"]:
        says.append("is in another place")
    if old["size"] != new["size"]:
        says.append("is larger" if Fraction(new["size"]) > Fraction(old["size"]) else "is smaller")
    if old["turn"] != new["turn"]:
        says.append("is turned")
    return says


def _shape(punch: Json) -> str:
    return "a shape of its own" if punch["shape"] == "outline" else with_article(punch["shape"])


def _of_key(before: Version, after: Version, old: Json, new: Json) -> Iterator[str]:
    if old.get(before.key) != new.get(after.key):
        yield "The right answer is another."
    if before.key != after.key:
        yield f"The key is {after.key} now, not {before.key}."


def _of_options(changed: Sequence[str], before: Version, after: Version) -> Iterator[str]:
    letters = [letter for letter in changed if letter not in (before.key, after.key)]
    if letters:
        yield f"Option{'s' if len(letters) > 1 else ''} {_listed(letters)} changed."
    told = {o["label"]: [m["says"] for m in o["mistakes"]] for o in before.options["options"]}
    other = [
        o["label"]
        for o in after.options["options"]
        if o["label"] not in changed and told.get(o["label"]) != [m["says"] for m in o["mistakes"]]
    ]
    if other:
        have = "have" if len(other) > 1 else "has"
        yield f"Option{'s' if len(other) > 1 else ''} {_listed(other)} {have} another explanation."


def _listed(letters: Sequence[str]) -> str:
    return letters[0] if len(letters) == 1 else f"{', '.join(letters[:-1])} and {letters[-1]}"
