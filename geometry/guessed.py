"""How guessable teaching sets were found to be, by the kinds of mistake they offer: measured once, kept as data.

``guessed.json`` names the command that measured it. "Simple" is the best of nine strategies that a pupil might hit upon
who never looks at the folds; "learned" a program that was shown the keys of other sets, an upper bound of a sort.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple


class Guessed(NamedTuple):
    """How often the key was found from the pictures alone (chance is 0.2)."""

    simple: float
    learned: float


def guessed(kinds: Iterable[str]) -> Guessed:
    """The mean over sets that offer these kinds; over all sets for kinds that were not measured."""
    table = _measured()
    found = [table["kinds"][kind] for kind in sorted(set(kinds)) if kind in table["kinds"]] or [table]
    return Guessed(*(sum(one[name] for one in found) / len(found) for name in Guessed._fields))


@cache
def _measured() -> dict[str, Any]:
    return json.loads(Path(__file__).with_name("guessed.json").read_text())
