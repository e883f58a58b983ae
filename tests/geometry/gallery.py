"""Specs that show every kind of thing a picture must show, by name; and many at random."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from itertools import islice
from random import Random
from typing import Any

from geometry.errors import GeometryError
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold
from tests.geometry.random_specs import random_spec

UPRIGHT = [["1/2", 0], ["1/2", 1]]
LEVEL = [[0, "1/2"], [1, "1/2"]]
RISING = [[0, 0], [1, 1]]
FALLING = [[0, 1], [1, 0]]


def spec(*folds: dict[str, Any], punches: list[dict[str, Any]], sheet: dict[str, Any] | None = None) -> dict[str, Any]:
    return {"version": 1, "sheet": sheet or {"kind": "square"}, "folds": list(folds), "punches": punches}


def punch(shape: str, x: Any, y: Any, size: Any = "1/8", turn: Any = 0) -> dict[str, Any]:
    return {"shape": shape, "at": [x, y], "size": size, "turn": turn}


GALLERY: dict[str, dict[str, Any]] = {
    "half": spec({"crease": UPRIGHT, "moves": [0, "1/2"]}, punches=[punch("heart", "3/4", "1/3")]),
    "behind": spec({"crease": LEVEL, "moves": ["1/2", 0], "way": "behind"}, punches=[punch("L-piece", "1/3", "3/4")]),
    "three": spec(
        {"bring": [0, 1], "to": [1, 1]},
        {"crease": [["1/2", "1/2"], [1, 1]], "moves": ["1/2", 1]},
        {"crease": [["1/2", 0], [1, "1/2"]], "moves": [1, 0]},
        punches=[punch("heart", 0.82, 0.68, "1/6"), punch("half-disc", 0.63, 0.33, "1/7", -20)],
    ),
    "corner": spec({"bring": [0, 0], "to": ["1/2", "1/4"]}, punches=[punch("arrow", "3/4", "3/4", "1/6", 30)]),
    "carried": spec(  # a flap that lands where no paper was
        {"crease": RISING, "moves": [1, 0]},
        {"bring": [1, 1], "to": [0, 0]},
        {"crease": [[0, "1/3"], [1, "1/3"]], "moves": [0, 0], "way": "behind"},
        punches=[punch("drop", 0.12, 0.5, "1/12")],
    ),
    "flap": spec(  # the top layer folded back on itself: with it open, one hole shows paper and one is covered
        {"crease": UPRIGHT, "moves": [0, "1/2"]},
        {"crease": [["3/4", 0], ["3/4", 1]], "moves": [1, "1/2"], "layers": 1},
        punches=[punch("star", "5/8", "1/2"), punch("disc", "7/8", "1/4")],
    ),
    "across": spec(  # half a disc on a crease, a notch in the rim, two punches that run together
        {"crease": UPRIGHT, "moves": [0, "1/2"]},
        punches=[punch("half-disc", "1/2", "1/2", "1/5", -90), punch("square", 1, "1/8"), punch("disc", 0.95, "1/8")],
    ),
    "nested": spec(  # a ring of holes that leaves an island is no single hole; a frame is
        {"crease": LEVEL, "moves": ["1/2", 0]},
        punches=[
            {
                "shape": "outline",
                "at": ["1/2", "1/2"],
                "size": "2/5",
                "points": [
                    ["-1/2", "-1/2"],
                    ["-1/4", "-1/2"],
                    ["-1/4", "1/4"],
                    ["1/4", "1/4"],
                    ["1/4", "-1/2"],
                    ["1/2", "-1/2"],
                    ["1/2", "1/2"],
                    ["-1/2", "1/2"],
                ],
            }
        ],
    ),
    "rectangle": spec(
        {"bring": [0, 0], "to": [1, "3/2"]},
        sheet={"kind": "rectangle", "width": 1, "height": "3/2"},
        punches=[punch("crescent", "1/4", "5/4")],
    ),
    "triangle": spec(
        {"bring": [1, 0], "to": [0, 0]}, sheet={"kind": "triangle"}, punches=[punch("triangle", "1/3", "1/4")]
    ),
    "hexagon": spec(
        {"crease": UPRIGHT, "moves": [1, "1/2"], "way": "behind"},
        {"bring": ["1/4", 0], "to": ["1/4", "1/2"]},
        sheet={"kind": "hexagon"},
        punches=[punch("cross", "1/3", "1/2")],
    ),
    "disc": spec(
        {"crease": LEVEL, "moves": ["1/2", 1]}, sheet={"kind": "disc"}, punches=[punch("rectangle", "1/2", "1/4")]
    ),
    "hollow": spec(
        {"crease": UPRIGHT, "moves": [1, "1/2"]},
        sheet={
            "kind": "polygon",
            "points": [
                [0, 0],
                [1, 0],
                [1, "9/10"],
                ["7/10", "9/10"],
                ["7/10", "3/10"],
                ["3/10", "3/10"],
                ["3/10", "9/10"],
                [0, "9/10"],
            ],
        },
        punches=[punch("star", "1/6", "1/2", "1/6")],
    ),
    "beyond": spec(  # paper that reaches past the sheet's own square
        {"bring": [0, 0], "to": [1, "3/4"]}, punches=[punch("disc", "7/8", "7/8", "1/10")]
    ),
}


@cache
def drawn(name: str) -> Unfolding:
    return unfold(read_spec(GALLERY[name]))


def at_random(count: int, *, flaps: bool = True) -> list[Unfolding]:
    """That many random specs that can be folded and punched, always the same ones."""
    found, more = _pool(0.5 if flaps else 0.0)
    found += islice(more, max(0, count - len(found)))
    return found[:count]


@cache
def _pool(flaps: float) -> tuple[list[Unfolding], Iterator[Unfolding]]:
    """What has been found so far, and what finds more."""
    return [], _possible(flaps)


def _possible(flaps: float) -> Iterator[Unfolding]:
    rng = Random(17)
    while True:
        with suppress(GeometryError):
            yield unfold(read_spec(random_spec(rng, flaps=flaps)))
