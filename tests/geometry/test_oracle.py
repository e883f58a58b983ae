"""The engine against an independent exact implementation that shares no code with it (tests/geometry/oracle.py).

The oracle works in Fractions alone, folds cell by cell, and says of any point of paper whether it is punched away. By
hand: thousands of specs with ``python -m tests.geometry.against_oracle``.
"""

from random import Random

import pytest

from tests.geometry.against_oracle import disagreements
from tests.geometry.random_specs import random_spec


def agree(seed: int, **wishes) -> None:
    rng = Random(seed)
    spec = random_spec(rng, **wishes)
    assert list(disagreements(spec, rng, points=20)) == []


@pytest.mark.parametrize("seed", range(40))
def test_all_layers_folds_of_a_convex_sheet(seed):
    agree(seed, flaps=0, convex=1)


@pytest.mark.parametrize("seed", range(100, 150))
def test_flaps_of_a_convex_sheet(seed):
    agree(seed, flaps=0.7, convex=1)


@pytest.mark.parametrize("seed", [*range(200, 225), 217])
def test_sheets_of_any_outline(seed):
    agree(seed, flaps=0.5, convex=0)


def test_a_speck_of_paper_where_creases_cross_is_no_ring_of_a_hole():
    """The outline's hollow corner comes within a millionth of where four faces meet."""
    agree(300049, folds=(4, 6), flaps=0.1, convex=1)


def test_six_folds_are_sixty_four_layers():
    rng = Random(6)
    halvings = [
        {"crease": [[f"1/{2 ** (k // 2 + 1)}", 0], [f"1/{2 ** (k // 2 + 1)}", 1]], "moves": [f"1/{2 ** (k // 2)}", 0]}
        if k % 2 == 0
        else {
            "crease": [[0, f"1/{2 ** (k // 2 + 1)}"], [1, f"1/{2 ** (k // 2 + 1)}"]],
            "moves": [0, f"1/{2 ** (k // 2)}"],
        }
        for k in range(6)
    ]
    punch = {"shape": "L-piece", "at": ["1/16", "1/16"], "size": "1/16"}
    spec = {"version": 1, "sheet": {"kind": "square"}, "folds": halvings, "punches": [punch]}
    assert list(disagreements(spec, rng, points=20)) == []
