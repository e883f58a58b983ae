"""The worked example of the title page: folded, punched and given its options by ``geometry``, never a question of
the set."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from typing import NamedTuple

from assignments.paper.drawings import Drawn
from geometry.option_sets import OptionSet, make_options
from geometry.spec import read_spec
from geometry.words import say_opening

SEED = 3


def _candidate(fold: dict, punch: dict) -> dict:
    return {"version": 1, "sheet": {"kind": "square"}, "folds": [fold], "punches": [punch]}


# One fold and one punch, so that all of it can be said in one sentence. The second is there for a set that holds the
# first; no set holds both, or their pictures would have to be equal.
CANDIDATES = (
    _candidate(
        {"crease": [["1/2", "0"], ["1/2", "1"]], "moves": ["0", "1/2"], "way": "over", "layers": "all"},
        {"shape": "heart", "at": ["17/24", "2/3"], "size": "1/5", "turn": 0},
    ),
    _candidate(
        {"crease": [["0", "1/2"], ["1", "1/2"]], "moves": ["1/2", "1"], "way": "over", "layers": "all"},
        {"shape": "heart", "at": ["1/3", "7/24"], "size": "1/5", "turn": 0},
    ),
)


class Example(NamedTuple):
    drawn: Drawn

    @property
    def options(self) -> OptionSet:
        return self.drawn.options

    @property
    def says(self) -> str:
        """How the answer comes about."""
        return say_opening(self.drawn.unfolding, 1)


def example_beside(fingerprints: Collection[str]) -> Example:
    """Return an example that none of the questions with these fingerprints is."""
    examples = _examples()
    return next((one for one in examples if one.options.fingerprint not in fingerprints), examples[0])


@cache
def _examples() -> tuple[Example, ...]:
    specs = [read_spec(candidate) for candidate in CANDIDATES]
    return tuple(Example(Drawn(spec, make_options(spec, seed=SEED))) for spec in specs)
