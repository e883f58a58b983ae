from __future__ import annotations

import pytest

from bank.reasons import FEATURE_WORDS, expected_facility, reasons_for
from geometry.difficulty import WEIGHTS

PLAIN = {"folds": 2, "slanting": 0, "oblique": 0, "layers": 2, "partial": 0, "flaps": 0, "turning": 0}
PLAIN |= {"shapes": 0, "late": 0, "same_count": 0}


def reasons(**features: float) -> list[str]:
    return reasons_for({"level": 1, "features": PLAIN | features})


def test_an_easy_question_has_a_short_list() -> None:
    assert reasons() == ["Two folds"]


@pytest.mark.parametrize(
    ("features", "says"),
    [
        ({"folds": 3, "slanting": 1}, "Three folds, one of them slanting"),
        ({"folds": 1}, "One fold"),
        ({"folds": 3, "slanting": 2, "oblique": 1}, "Three folds, two of them slanting, one at another angle than 45°"),
        ({"layers": 8}, "Up to eight layers under a punch"),
        ({"partial": 2}, "Some holes double when a fold opens and others do not"),
        ({"flaps": 1}, "One fold of the top layers only"),
        ({"turning": 1}, "The shape shows which way it was turned"),
        ({"shapes": 1}, "Two different shapes"),
        ({"late": 1}, "One wrong option right until the last opening"),
        ({"same_count": 4}, "Four wrong options with as many holes as the key"),
    ],
)
def test_what_makes_it_harder_is_said(features: dict, says: str) -> None:
    assert says in reasons(**features)


def test_features_of_an_older_release_may_be_missing() -> None:
    assert reasons_for({"level": 2, "features": {"folds": 2}}) == ["Two folds"]


def test_the_expected_facility_says_how_far_to_trust_it() -> None:
    assert expected_facility({"facility": 0.6}).startswith("Expected facility about .60: worked out")
    assert expected_facility({}) == ""


def test_every_feature_that_has_a_weight_has_words():
    assert set(FEATURE_WORDS) == set(WEIGHTS)
