"""Item statistics against published tables and against values that R's packages give for the same data."""

import numpy as np
import pytest

from assignments import item_statistics, rasch
from tests.assignments.published_marks import (
    ITEM_TOTAL_TABLE,
    KR20_EXAMPLE,
    LSAT_6,
    LSAT_7,
    PATTERNS,
    marks_of,
)

# R 4.2.2 with psych 2.2.9 (r_it, r_ir), psychotools 0.7.2 and eRm 1.0.2 (conditional maximum likelihood), on the
# response patterns of Bock and Lieberman 1970, "Fitting a response model for n dichotomously scored items",
# Psychometrika 35, 179-197. Columns: facility, item-total, item-rest, upper-lower 27 %, Rasch difficulty, its error.
R_VALUES = {
    LSAT_6: [
        (0.924, 0.362010, 0.112833, 0.196624, -1.256128, 0.104406),
        (0.709, 0.566772, 0.153178, 0.631458, 0.474907, 0.069917),
        (0.553, 0.618440, 0.172779, 0.810877, 1.235981, 0.068778),
        (0.763, 0.534418, 0.144428, 0.536990, 0.168410, 0.072619),
        (0.870, 0.435366, 0.121596, 0.320347, -0.623170, 0.085917),
    ],
    LSAT_7: [
        (0.828, 0.529988, 0.245732, 0.432972, -0.541470, 0.079168),
        (0.658, 0.599677, 0.246674, 0.719837, 0.536545, 0.067961),
        (0.772, 0.611210, 0.313179, 0.581608, -0.133583, 0.073133),
        (0.606, 0.592029, 0.222751, 0.742060, 0.805166, 0.067457),
        (0.843, 0.461192, 0.174786, 0.375375, -0.666659, 0.081518),
    ],
}


@pytest.mark.parametrize("section", [LSAT_6, LSAT_7])
def test_classical_figures_agree_with_r(section):
    found = item_statistics.item_statistics(marks_of(section))
    for item, expected in zip(found, R_VALUES[section], strict=True):
        assert (item.facility, item.item_total, item.item_rest, item.upper_lower) == pytest.approx(
            expected[:4], abs=1e-6
        )


@pytest.mark.parametrize("section", [LSAT_6, LSAT_7])
def test_rasch_difficulties_and_errors_agree_with_r(section):
    found = rasch.difficulties(marks_of(section))
    assert found.difficulty == pytest.approx([row[4] for row in R_VALUES[section]], abs=1e-5)
    assert found.error == pytest.approx([row[5] for row in R_VALUES[section]], abs=1e-5)


def test_rasch_log_likelihood_agrees_with_r():
    # eRm 1.0.2 and psychotools 0.7.2 on section 6: -1091.5697.
    assert rasch.difficulties(marks_of(LSAT_6)).log_likelihood == pytest.approx(-1091.5697, abs=1e-3)


@pytest.mark.parametrize(
    ("section", "mean", "sd", "kr20", "error"),
    [  # psych 2.2.9, psychometric 2.3 and CTT 2.3.3 agree on these
        (LSAT_6, 3.819, 1.035041, 0.294997, 0.869067),
        (LSAT_7, 3.707, 1.198577, 0.453409, 0.886130),
    ],
)
def test_set_figures_agree_with_r(section, mean, sd, kr20, error):
    found = item_statistics.set_statistics(marks_of(section))
    assert (found.mean, found.sd, found.kr20, found.error) == pytest.approx((mean, sd, kr20, error), abs=1e-6)


def test_kr20_of_a_worked_example():
    # C. Zaiontz, Real Statistics, "Kuder and Richardson Formula 20": 12 persons, 11 questions, rho = 0.738.
    assert round(item_statistics.kr20(KR20_EXAMPLE), 3) == 0.738


def test_variance_of_a_second_worked_example():
    # K. Wuensch, East Carolina University, KR20.txt: the totals' variance is 5.84, divided by n.
    assert ITEM_TOTAL_TABLE.sum(axis=1).var() == pytest.approx(5.84)
    assert item_statistics.kr20(ITEM_TOTAL_TABLE) == pytest.approx(0.696347, abs=1e-6)


def test_order_of_pupils_has_no_effect():
    marks = marks_of(LSAT_7)
    shuffled = marks[np.random.default_rng(4).permutation(len(marks))]
    for a, b in zip(item_statistics.item_statistics(marks), item_statistics.item_statistics(shuffled), strict=True):
        assert a.upper_lower == pytest.approx(b.upper_lower)
        assert a.item_rest == pytest.approx(b.item_rest)


def test_a_question_all_got_right_has_no_correlation_and_no_rasch_difficulty():
    marks = np.column_stack([np.ones(1000), marks_of(LSAT_6)])
    first, *rest = item_statistics.item_statistics(marks)
    assert first.facility == 1
    assert first.item_total is None
    assert first.item_rest is None
    found = rasch.difficulties(marks.astype(int))
    assert np.isnan(found.difficulty[0])
    assert found.difficulty[1:] == pytest.approx([row[4] for row in R_VALUES[LSAT_6]], abs=1e-5)
    assert len(rest) == 5


def test_options_count_share_and_mean_mark():
    found = item_statistics.option_statistics(["A", "A", "B", "C", "", "A"], np.array([5, 3, 2, 1, 0, 4]))
    assert [(o.letter, o.chosen) for o in found] == [("A", 3), ("B", 1), ("C", 1), ("D", 0), ("E", 0)]
    assert found[0].mean_mark == 4
    assert found[3].mean_mark is None
    assert item_statistics.distractor_efficiency(found, "A") == 0.5  # B and C of four work


def test_a_distractor_works_from_five_in_a_hundred():
    # Tarrant, Ware and Mohammed 2009: chosen by at least 5 %.
    chosen = ["A"] * 91 + ["B"] * 5 + ["C"] * 4
    working = [o.letter for o in item_statistics.option_statistics(chosen, np.zeros(100)) if o.works]
    assert working == ["A", "B"]


def test_empty_tables():
    assert item_statistics.item_statistics(np.zeros((0, 0))) == []
    with pytest.raises(ValueError, match="no marks"):
        item_statistics.set_statistics(np.zeros((0, 5)))
    with pytest.raises(ValueError, match="too few questions"):
        rasch.difficulties(np.ones((5, 5), dtype=int))


def test_symmetric_functions_are_coefficients_of_a_polynomial():
    # numpy's poly expands the product of (x - root); with roots -v its coefficients are the symmetric functions.
    values = np.array([0.3, 1.7, 2.0, 0.05])
    assert rasch.symmetric(values) == pytest.approx(np.poly(-values))


def test_difficulties_made_of_features_are_explained():
    rng = np.random.default_rng(8)
    folds, slanting = rng.integers(1, 5, 40).astype(float), rng.integers(0, 3, 40).astype(float)
    truth = -2 + 0.7 * folds + 0.4 * slanting
    found = rasch.explain(truth, np.full(40, 0.1), {"folds": folds, "slanting": slanting})
    assert found.weights == pytest.approx({"folds": 0.7, "slanting": 0.4})
    assert found.explained == pytest.approx(1)
    with pytest.raises(ValueError, match="too few questions"):
        rasch.explain(truth[:4], np.full(4, 0.1), {"folds": folds[:4], "slanting": slanting[:4]})


def test_rasch_recovers_planted_difficulties():
    rng = np.random.default_rng(5)
    planted = np.linspace(-1.5, 1.5, 12)
    ability = rng.normal(size=3000)
    right = rng.random((3000, 12)) < 1 / (1 + np.exp(planted - ability[:, None]))
    found = rasch.difficulties(right.astype(int))
    assert np.abs((found.difficulty - planted) / found.error).max() < 4  # within four standard errors, all twelve


def test_faults_are_named():
    item = item_statistics.ItemStatistics(facility=0.75, item_total=0.0, item_rest=-0.2, upper_lower=0.0)
    options = item_statistics.option_statistics(["A"] * 75 + ["B"] * 25, np.zeros(100))
    found = item_statistics.faults(item, options, "A", 1000, {"low": 0.3, "high": 0.7})
    assert found == [
        "Pupils who do well on the rest get it wrong more often than the others.",
        "Hardly anybody chooses C or D or E.",
        "It is easier than its level of difficulty says.",
    ]


def item_of(item_rest: float, facility: float = 0.6) -> item_statistics.ItemStatistics:
    return item_statistics.ItemStatistics(facility, item_rest, item_rest, upper_lower=item_rest)


@pytest.mark.parametrize(
    ("item", "says"),
    [
        # Ebel and Frisbie 1991, Essentials of Educational Measurement: below 0.20 poor, to be rejected or revised.
        (item_of(0.20), ""),
        (item_of(0.19), "Pupils who do well on the rest get it right hardly more often than the others."),
        (item_of(0.0), "Pupils who do well on the rest get it right hardly more often than the others."),
        (item_of(-0.01), "Pupils who do well on the rest get it wrong more often than the others."),
        # All wrong answers of 8 % in the lower 27 %: the upper group is 0.08 / 0.27 = 0.30 ahead at the very most.
        (item_of(0.1, facility=0.92), ""),
        (item_of(0.1, facility=0.08), ""),
        (item_of(-0.01, facility=0.92), "Pupils who do well on the rest get it wrong more often than the others."),
    ],
)
def test_a_question_that_tells_little_is_to_repair_and_of_a_small_class_to_watch(item, says):
    asked = item_statistics.option_statistics(list("ABCDE") * 20, np.zeros(100)), "A"
    anything = {"low": 0.0, "high": 1.0}
    said = [says] if says else []
    assert item_statistics.faults(item, *asked, 30, anything) == said
    assert item_statistics.doubts(item, *asked, 30) == []
    assert item_statistics.faults(item, *asked, 29, anything) == []
    assert item_statistics.doubts(item, *asked, 29) == said
    assert item_statistics.doubts(item, *asked, 9) == []


def test_an_option_that_none_of_a_small_class_chose_is_only_to_watch():
    item = item_of(0.4, facility=0.64)
    asked = item_statistics.option_statistics(["A"] * 7 + ["B", "B", "C", "D"], np.zeros(11)), "A"
    assert item_statistics.faults(item, *asked, 11, {"low": 0.0, "high": 1.0}) == []
    assert item_statistics.doubts(item, *asked, 11) == ["Hardly anybody chooses E."]


def test_what_few_sittings_or_chance_can_bring_about_is_no_fault():
    item = item_statistics.ItemStatistics(facility=0.95, item_total=0.0, item_rest=-0.2, upper_lower=0.0)
    options = item_statistics.option_statistics(["A"] * 95 + ["B"] * 5, np.zeros(100))
    assert item_statistics.faults(item, options, "A", 9, {"low": 0.3, "high": 0.7}) == []
    good = item_statistics.ItemStatistics(facility=0.95, item_total=0.3, item_rest=0.2, upper_lower=0.1)
    assert item_statistics.faults(good, options, "A", 100, {"low": 0.82, "high": 1.0}) == []  # too easy to be wrong on
    assert item_statistics.faults(good, options, "A", 12, {"low": 0.72, "high": 0.88}) == []  # within two errors


def test_patterns_are_all_there():
    assert len(PATTERNS) == 32
    assert marks_of(LSAT_6).shape == marks_of(LSAT_7).shape == (1000, 5)
