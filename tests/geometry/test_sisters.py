"""Sisters: the five questions behind a set drawn by lot.

What makes the lot a proof is that every option is the true answer of a question that could as well have been asked; so
each sister is folded here, point by point, by a path that shares nothing with the making of options.
"""

from __future__ import annotations

from collections import Counter

import orjson
import pytest
from scipy.stats import chisquare

from geometry.around import lot_around
from geometry.creasing import kind_of
from geometry.errors import OptionSetError
from geometry.fingerprints import fingerprint
from geometry.folding import fold_sheet
from geometry.generation import generate
from geometry.option_sets import OptionSet
from geometry.punching import outline_of
from geometry.spec import Spec, read_spec
from tests.geometry.folded_points import is_true_answer

LABELS = "ABCDE"


def is_answer_of(spec: Spec, options: OptionSet, label: str) -> bool:
    return is_true_answer(spec.to_json(), [outline_of(p) for p in spec.punches], options.option(label).holes, across=40)


def test_every_option_is_the_true_answer_of_its_sister_and_of_no_other(lots):
    for options in lots[:12]:
        for label in LABELS:
            true = [other for other in LABELS if is_answer_of(options.sister(label), options, other)]
            assert true == [label]


def test_the_sister_of_the_key_is_the_question(lots):
    for options in lots:
        assert options.sister(options.key) == options.spec


def test_keys_are_drawn_evenly_from_the_grids_cells(lots):
    """Against the even distribution, by Pearson's chi-squared test (scipy), at one in ten thousand."""
    places = Counter(sorted(options.grid.cells).index(options.option(options.key).cell) for options in lots)
    assert chisquare([places[place] for place in range(5)]).pvalue > 1e-4


def test_a_set_read_back_from_json_has_the_same_sisters(lots):
    for options in lots[:10]:
        again = OptionSet.from_json(orjson.loads(orjson.dumps(options.to_json())))
        assert again.to_json() == options.to_json()
        assert [again.sister(label) for label in LABELS] == [options.sister(label) for label in LABELS]


def test_what_is_wished_holds_for_all_five_before_the_lot():
    """A wish held for the key alone would tell which option it is."""
    wished = {"folds": (2, 2), "punches": (1, 1), "creases": ("straight", "diagonal"), "shapes": ("arrow", "heart")}
    for _, options in generate(count=10, seed=4, **wished, mistakes=("wrong-line",)):
        for label in LABELS:
            sister = options.sister(label)
            assert (len(sister.folds), len(sister.punches)) == (2, 1)
            assert sister.punches[0].shape in wished["shapes"]
            creases = fold_sheet(sister.sheet, sister.folds).creases
            assert {kind_of(crease.line) for crease in creases} <= set(wished["creases"])
            assert all(crease.layers is None for crease in creases)


# --- around a teacher's own question --------------------------------------------------------------------------------

OWN = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [
        {"bring": [0, 0], "to": [1, 0]},
        {"crease": [["1/2", "1/2"], [1, "1/2"]], "moves": ["3/4", 0]},
    ],
    "punches": [{"shape": "heart", "at": ["7/8", "2/3"], "size": "1/10", "turn": 0}],
}


def test_a_teachers_own_question_is_one_of_five_sisters():
    spec = read_spec(OWN)
    options = lot_around(spec, 1)
    assert options.sets == "lot"
    assert fingerprint(spec) in {fingerprint(options.sister(label)) for label in LABELS}
    assert all(is_answer_of(options.sister(label), options, label) for label in LABELS)
    assert lot_around(spec, 1).to_json() == options.to_json()
    assert all(check.ok for check in options.checks())


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            {"sheet": {"kind": "hexagon"}, "folds": [{"bring": ["1/5", "1/2"], "to": ["4/5", "1/2"]}] * 1},
            "square sheet",
        ),
        ({"folds": OWN["folds"][:1]}, "add a fold"),
        ({"folds": [{"bring": [0, 0], "to": ["11/12", 0]}, OWN["folds"][1]]}, "half, third or quarter"),
        ({"punches": [{"shape": "heart", "at": ["7/8", "1/2"], "size": "1/10"}]}, "across a crease"),
        ({"punches": [{"shape": "disc", "at": ["3/4", "3/4"], "size": "1/3"}]}, "No other crease of fold 1"),
    ],
)
def test_a_question_without_sisters_says_what_would_help(change, says):
    with pytest.raises(OptionSetError) as refused:
        lot_around(read_spec(OWN | change), 1)
    assert says in str(refused.value)
    assert str(refused.value).endswith(".")
