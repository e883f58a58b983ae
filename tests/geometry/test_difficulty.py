"""Difficulty: monotone where the literature says so, and refitted to answers.

More folds and layers are harder (Salthouse et al. 1989; Dahm and Draxler 2022), slanting creases harder than straight
ones (Harris and Lowrie 2024); the signs are theirs, the weights choices of ours.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import nnls

from geometry.calibration import CHANCE, TRUST, Calibration, Observed, level_of, refit
from geometry.difficulty import UNCALIBRATED, Difficulty
from geometry.option_sets import make_options
from geometry.spec import read_spec

NAMES = list(UNCALIBRATED.weights)
PLAIN = {"folds": 2.0, "doublings": 1.0} | dict.fromkeys(NAMES[2:], 0.0)
HALF = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, "1/2"]}
QUARTER = {"crease": [["1/2", "1/2"], [1, "1/2"]], "moves": ["3/4", 0]}
CORNER = {"bring": [1, 1], "to": ["3/4", "3/4"]}


@pytest.mark.parametrize("name", NAMES)
def test_more_of_any_feature_is_never_easier(name):
    easier, harder = Difficulty.of(PLAIN), Difficulty.of(PLAIN | {name: PLAIN[name] + 1})
    assert harder.facility < easier.facility
    assert harder.level >= easier.level


def test_a_facility_lies_between_chance_and_one():
    assert CHANCE < UNCALIBRATED.facility(dict.fromkeys(NAMES, 9.0)) < 0.25
    assert UNCALIBRATED.facility(dict.fromkeys(NAMES, 0.0)) < 1


def test_levels_run_from_one_to_five():
    assert [level_of(share) for share in (0.95, 0.8, 0.65, 0.5, 0.3)] == [1, 2, 3, 4, 5]


def features_of(*folds, shape="disc", at=("7/8", "5/8")):
    punch = {"shape": shape, "at": list(at), "size": "1/10"}
    spec = {"version": 1, "sheet": {"kind": "square"}, "folds": list(folds), "punches": [punch]}
    return make_options(read_spec(spec), 1).difficulty.features


def test_features_are_read_off_the_paper():
    """Counted by hand: half the square, then half of that: four layers; the heart shows its turning, the disc none."""
    features = features_of(HALF, QUARTER)
    assert (features["folds"], features["layers"], features["doublings"], features["slanting"]) == (2, 4, 2, 0)
    assert (features["holes"], features["partial"], features["turning"]) == (4, 0, 0)
    assert features_of(HALF, QUARTER, shape="heart")["turning"] == 1
    slanting = features_of(HALF, QUARTER, CORNER, at=("5/8", "5/8"))
    assert (slanting["folds"], slanting["slanting"], slanting["partial"]) == (3, 1, 1)  # the corner lies elsewhere


# --- refitting ------------------------------------------------------------------------------------------------------


def answered(truth: Calibration, count: int, answers: int) -> list[Observed]:
    """Questions with random features, answered as a calibration foretells."""
    lot = Random(3)
    features = [{name: float(lot.randint(0, 3)) for name in NAMES} for _ in range(count)]
    return [Observed(one, truth.facility(one), answers) for one in features if 0.25 < truth.facility(one) < 0.97]


def test_many_answers_bring_back_the_weights_they_came_from():
    truth = Calibration(3.0, {name: 0.1 + 0.05 * place for place, name in enumerate(NAMES)})
    fitted = refit(answered(truth, 400, 100_000), UNCALIBRATED)
    assert fitted.easiest == pytest.approx(3.0, abs=0.1)
    for name in NAMES:
        assert fitted.weights[name] == pytest.approx(truth.weights[name], abs=0.05)


def test_no_feature_comes_out_as_making_questions_easier():
    truth = Calibration(1.5, {name: -0.3 if name == "late" else 0.2 for name in NAMES})
    fitted = refit(answered(truth, 200, 1000), UNCALIBRATED)
    assert fitted.weights["late"] == 0
    assert min(fitted.weights.values()) >= 0


def test_the_fit_is_the_least_squares_fit_with_no_negative_weight():
    """Against scipy's nnls on the same problem, the free term written as the difference of two."""
    seen = answered(Calibration(1.5, {name: -0.2 if name == "folds" else 0.25 for name in NAMES}), 60, 50)
    rows = np.array([[1.0, -1.0, *(-one.features[name] for name in NAMES)] for one in seen])
    shares = np.clip([(one.facility - CHANCE) / (1 - CHANCE) for one in seen], 0.02, 0.98)
    root = np.sqrt([one.answers for one in seen] * shares * (1 - shares))
    prior = np.vstack([[1.0, -1.0] + [0.0] * len(NAMES), np.eye(len(NAMES) + 2)[2:]]) * TRUST**0.5
    present = np.array([UNCALIBRATED.easiest, *UNCALIBRATED.weights.values()]) * TRUST**0.5
    logits = np.log(shares / (1 - shares))
    best, _ = nnls(np.vstack([rows * root[:, None], prior]), np.concatenate([logits * root, present]))
    fitted = refit(seen, UNCALIBRATED)
    assert fitted.easiest == pytest.approx(best[0] - best[1], abs=1e-5)
    assert list(fitted.weights.values()) == pytest.approx(best[2:].tolist(), abs=1e-5)


def test_few_answers_change_little_and_none_nothing():
    truth = Calibration(0.0, dict.fromkeys(NAMES, 0.0))
    assert refit([], UNCALIBRATED) == UNCALIBRATED
    assert refit([Observed(PLAIN, 0.4, 0)], UNCALIBRATED) == UNCALIBRATED
    few = refit(answered(truth, 1, 1), UNCALIBRATED)
    assert abs(few.easiest - UNCALIBRATED.easiest) < 0.1


def test_stored_features_are_judged_anew():
    kinder = Calibration(9.0, UNCALIBRATED.weights)
    assert Difficulty.of(PLAIN, kinder).facility > Difficulty.of(PLAIN).facility
    assert Calibration.from_json(kinder.to_json()) == kinder
