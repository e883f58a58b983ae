"""Guessing from the pictures alone: strategies on pictures made by hand, and their luck on sets drawn by lot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from scipy.stats import binomtest

from geometry import guessed as guessed_module
from geometry.guessing import STRATEGIES, Look, chance_of, guessability, profile
from geometry.mistakes import KINDS
from geometry.option_sets import Option

AREA = 0.01


def look(*places: complex) -> Look:
    return Look(tuple((at, AREA) for at in places))


EVEN = look(0.25 + 0.25j, 0.75 + 0.25j, 0.25 + 0.75j, 0.75 + 0.75j)
LONELY = look(0.1 + 0.2j)
FIVE = [EVEN, LONELY, look(0.25 + 0.25j, 0.75 + 0.3j), look(0.25 + 0.25j, 0.6 + 0.25j), look(0.3 + 0.25j, 0.75 + 0.75j)]


@pytest.mark.parametrize(
    ("strategy", "picked"),
    [
        ("most symmetric", 0),
        ("most holes", 0),
        ("fewest holes", 1),
        ("best centred", 0),
        ("least like the others", 1),
        ("most like the others", 0),
    ],
)
def test_strategies_pick_what_a_glance_picks(strategy, picked):
    assert chance_of(STRATEGIES[strategy], FIVE, picked) == 1


def test_among_equals_each_is_as_likely():
    assert [chance_of(STRATEGIES["commonest number of holes"], FIVE, place) for place in range(5)] == [
        0, 0, pytest.approx(1 / 3), pytest.approx(1 / 3), pytest.approx(1 / 3)
    ]  # fmt: skip


def test_five_equal_pictures_tell_nothing():
    alike = [EVEN] * 5
    for place in range(5):
        assert guessability(alike, place) == 0.2
        assert set(profile(alike, place)) == {0.5}


def test_how_often_each_is_picked_sums_to_one():
    for strategy in STRATEGIES.values():
        assert sum(chance_of(strategy, FIVE, place) for place in range(5)) == pytest.approx(1)


def test_every_option_of_a_lot_could_be_the_key(lots):
    """Seen from the pictures alone: no strategy finds keys more often than chance allows.

    One-sided exact binomial test (scipy) at one in ten thousand for each strategy, against one in five.
    """
    for name, strategy in STRATEGIES.items():
        hits = 0.0
        for options in lots:
            looks = [look_of(option) for option in options.options]
            hits += chance_of(strategy, looks, "ABCDE".index(options.key))
        test = binomtest(round(hits), len(lots), 0.2, alternative="greater")
        assert test.pvalue > 1e-4, f"{name} found {hits:.0f} of {len(lots)} keys"


def look_of(option: Option) -> Look:
    return Look(tuple((complex(h.centroid.x, h.centroid.y), h.area) for h in option.holes))


def test_teaching_sets_say_how_guessable_sets_like_them_were_found_to_be(lessons):
    """The figures are means over the kinds offered, of those that the stored measurement names."""
    table = json.loads((Path(guessed_module.__file__).parent / "guessed.json").read_text())
    assert set(table["kinds"]) == set(KINDS)
    assert "measure_guessing" in table["command"]
    for options in lessons[:10]:
        kinds = {mistake.kind for option in options.options for mistake in option.mistakes}
        simple = sum(table["kinds"][kind]["simple"] for kind in kinds) / len(kinds)
        assert guessed_module.guessed(kinds).simple == pytest.approx(simple)
        says = next(check.says for check in options.checks() if check.name == "guessing")
        assert f"{100 * simple:.0f} times in 100" in says
    assert guessed_module.guessed([]).learned == table["learned"]
    assert guessed_module.guessed(["no such kind"]).simple == table["simple"]
