"""Fingerprints: equal for two specs that ask the same question, different for two that do not."""

from __future__ import annotations

from itertools import combinations

import pytest

from geometry.fingerprints import Kin, fingerprint, kin_of
from geometry.folding import fold_sheet
from geometry.spec import read_spec
from geometry.turned_specs import exact_symmetries, turned_spec

HALF = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, "1/2"]}
LOWER = {"crease": [["1/2", "1/2"], [1, "1/2"]], "moves": ["3/4", 0]}
HEART = {"shape": "heart", "at": ["3/4", "7/8"], "size": "1/10", "turn": 0}
STAR = {"shape": "star", "at": ["5/8", "5/8"], "size": "1/10", "turn": 0}


def spec(folds=(HALF, LOWER), punches=(HEART, STAR), sheet=None):
    sheet = sheet or {"kind": "square"}
    return read_spec({"version": 1, "sheet": sheet, "folds": list(folds), "punches": list(punches)})


ASKED = fingerprint(spec())


@pytest.mark.parametrize("place", range(8))
def test_equal_under_each_of_the_sheets_symmetries(place):
    flap = {"crease": [["3/4", 0], ["3/4", 1]], "moves": [1, "1/2"], "layers": 1, "way": "behind"}
    for asked in (spec(), spec([HALF, flap], [HEART | {"at": ["5/8", "7/8"]}])):
        motion = exact_symmetries(asked.sheet)[place]
        assert fingerprint(turned_spec(asked, motion)) == fingerprint(asked)


@pytest.mark.parametrize(
    "half",
    [
        {"crease": [["1/2", 1], ["1/2", 0]], "moves": [0, "1/2"]},
        {"crease": [["1/2", "1/3"], ["1/2", 5]], "moves": ["1/4", 0]},
        {"bring": [0, 0], "to": [1, 0]},
        {"bring": [0, "2/3"], "to": [1, "2/3"]},
        HALF | {"way": "behind"},
        HALF | {"layers": 1},
    ],
)
def test_equal_for_other_names_of_the_same_fold(half):
    assert fingerprint(spec([half, LOWER])) == ASKED


def test_equal_over_and_behind_where_all_layers_go_along():
    ways = [{**HALF, "way": one} for one in ("over", "behind")], [{**LOWER, "way": one} for one in ("over", "behind")]
    assert {fingerprint(spec([first, second])) for first in ways[0] for second in ways[1]} == {ASKED}


def test_different_over_and_behind_where_one_layer_goes():
    """At x = 3/4 nothing joins the two layers; over takes the left half of the sheet, behind the right one."""
    fold = {"crease": [["3/4", 0], ["3/4", 1]], "moves": [1, "1/2"]}
    folds = [fold, fold | {"layers": 1}, fold | {"layers": 1, "way": "behind"}]
    punch = HEART | {"at": ["5/8", "7/8"]}
    assert len({fingerprint(spec([HALF, one], [punch])) for one in folds}) == 3


def test_equal_whatever_the_order_of_the_punches():
    assert fingerprint(spec(punches=[STAR, HEART])) == ASKED


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (HEART | {"turn": 360}, HEART),
        ({"shape": "square", "at": ["3/4", "7/8"], "turn": 90}, {"shape": "square", "at": ["3/4", "7/8"]}),
        ({"shape": "disc", "at": ["3/4", "7/8"], "turn": 33}, {"shape": "disc", "at": ["3/4", "7/8"]}),
    ],
)
def test_equal_where_a_shapes_turn_changes_nothing(one, other):
    assert fingerprint(spec(punches=[one])) == fingerprint(spec(punches=[other]))


def test_different_for_every_real_difference():
    others = [
        spec(),
        spec([LOWER, HALF], [HEART]),
        spec([HALF]),
        spec(
            [HALF, LOWER | {"moves": ["3/4", 1]}],
            [HEART | {"at": ["3/4", "1/8"], "turn": 180}, STAR | {"at": ["5/8", "3/8"], "turn": 180}],
        ),
        spec(punches=[HEART]),
        spec(punches=[HEART | {"turn": 90}, STAR]),
        spec(punches=[HEART | {"size": "1/8"}, STAR]),
        spec(punches=[HEART | {"shape": "drop"}, STAR]),
        spec(punches=[HEART | {"at": ["3/4", "3/4"]}, STAR]),
        spec([{"crease": [["1/3", 0], ["1/3", 1]], "moves": [0, "1/2"]}, LOWER]),
        spec(sheet={"kind": "rectangle", "width": "1", "height": "4/3"}),
    ]
    for one, other in combinations(others, 2):
        same = {id(one), id(other)} == {id(others[0]), id(others[3])}  # mirrored top to bottom: the same question
        assert (fingerprint(one) == fingerprint(other)) == same


def kin(asked) -> Kin:
    return kin_of(fold_sheet(asked.sheet, asked.folds), asked.punches)


BESIDE = HEART | {"at": ["13/16", "7/8"], "shape": "arrow", "turn": 90}


@pytest.mark.parametrize("place", range(8))
def test_near_repeats_are_known_however_the_sheet_lies(place):
    """A punch moved by a sixteenth, in another shape and turned; the twelfth is that of options that tell apart."""
    near = turned_spec(spec(punches=[STAR, BESIDE]), exact_symmetries(spec().sheet)[place])
    assert fingerprint(near) != ASKED
    assert kin(near).is_near(kin(spec()))
    assert kin(spec()).is_near(kin(near))


def test_near_where_the_folds_themselves_can_be_mirrored():
    """A sheet folded in its diagonal can be mirrored in the other diagonal; a punch near another's image is near it."""
    folds = [{"bring": [0, 0], "to": [1, 1]}]
    one, other = HEART | {"at": ["5/8", "7/8"]}, HEART | {"at": ["7/8", "5/8"]}
    assert kin(spec(folds, [one])).is_near(kin(spec(folds, [other])))
    assert not kin(spec(folds, [one])).is_near(kin(spec(folds, [HEART | {"at": ["1/2", "3/4"]}])))


def test_no_near_repeat_of_other_folds_other_places_or_another_number_of_punches():
    folded_on_the_edge = LOWER | {"crease": [["1/2", "1/3"], [1, "1/3"]]}
    others = [
        spec(punches=[HEART]),
        spec(punches=[HEART, HEART | {"at": ["3/4", "5/8"]}]),
        spec([HALF, folded_on_the_edge]),
        spec([HALF]),
        spec(sheet={"kind": "rectangle", "width": "1", "height": "4/3"}),
    ]
    assert not any(kin(other).is_near(kin(spec())) for other in others)
