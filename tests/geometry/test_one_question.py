"""Questions drawn one at a time: the same lot gives the same one, a known one is never drawn again, letters by lot."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from scipy.stats import chisquare

from geometry.generation import LOT, TEACHING, one_question
from geometry.option_sets import LABELS, OptionSet, relabelled
from geometry.wishes import Wishes

TWO = Wishes(folds=(2, 2), punches=(1, 1))


@pytest.fixture(scope="module")
def drawn() -> dict[str, OptionSet | None]:
    return {sets: one_question(TWO, sets=sets, seed=5) for sets in (LOT, TEACHING)}


@pytest.mark.parametrize("sets", [LOT, TEACHING])
def test_the_same_lot_gives_the_same_question(drawn, sets):
    again = one_question(TWO, sets=sets, seed=5)
    assert again is not None
    assert again.to_json() == drawn[sets].to_json()


@pytest.mark.parametrize("sets", [LOT, TEACHING])
def test_a_known_question_is_not_drawn_again(drawn, sets):
    known = drawn[sets].fingerprint
    another = one_question(TWO, sets=sets, seed=5, known=[known])
    assert another is not None
    assert another.fingerprint != known


def test_patience_ends():
    """Every question of one fold is refused here: sets drawn by lot need two."""
    assert one_question(Wishes(folds=(1, 1)), sets=LOT, seed=1, patience=3) is None


def test_letters_drawn_anew_move_the_key_evenly_and_change_no_picture(drawn):
    """Pearson's chi-square by scipy: 500 lots, five letters, no letter favoured at the 0.1 % level."""
    options = drawn[LOT]
    pictures = {option.holes for option in options.options}
    keys = Counter()
    for seed in range(500):
        anew = relabelled(options, Random(seed))
        assert [option.label for option in anew.options] == list(LABELS)
        assert {option.holes for option in anew.options} == pictures
        assert anew.option(anew.key).holes == options.option(options.key).holes
        keys[anew.key] += 1
    assert chisquare([keys[label] for label in LABELS]).pvalue > 0.001
