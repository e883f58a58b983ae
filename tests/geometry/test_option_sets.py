"""Option sets by the rules: five pictures, one right, each other standing for nameable mistakes.

Rules of writing options: plausible distractors made of pupils' typical errors, homogeneous options (Haladyna, Downing
and Rodriguez 2002, guidelines 24 to 30; numbers from memory); keys drawn at random, not balanced (Bar-Hillel and Attali
2001).
"""

from collections import Counter
from itertools import combinations, islice

import pytest
import shapely
from scipy.stats import binomtest

from geometry.errors import OptionSetError
from geometry.generation import generate
from geometry.guessing import STRATEGIES, Look, chance_of
from geometry.option_sets import Option, OptionSet, make_options, place_of
from geometry.spec import read_spec
from tests.geometry.folded_points import is_true_answer

SPEC = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [
        {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, "1/2"]},
        {"crease": [["1/2", "1/2"], [1, 1]], "moves": ["1/2", 1]},
    ],
    "punches": [
        {"shape": "L-piece", "at": ["7/8", "5/8"], "size": "1/8"},
        {"shape": "drop", "at": ["3/4", "1/4"], "size": "1/8"},
    ],
}


@pytest.fixture(scope="module")
def lots() -> list[OptionSet]:
    return [options for _, options in generate(count=150, seed=2024, punches=(1, 2))]


@pytest.fixture(scope="module")
def lessons() -> list[OptionSet]:
    return [options for _, options in generate(count=40, seed=7, sets="teaching")]


def holds(options: OptionSet) -> None:
    assert [option.label for option in options.options] == list("ABCDE")
    assert sum(not option.mistakes for option in options.options) == 1
    wrong = [option.mistakes for option in options.options if option.mistakes]
    assert all(1 <= len(mistakes) <= 2 for mistakes in wrong)
    assert all(len({place_of(m) for m in mistakes}) == len(mistakes) for mistakes in wrong)
    every = [m for mistakes in wrong for m in mistakes]
    assert len({m.kind for m in every}) >= 3
    assert len({place_of(m) for m in every}) >= 2
    for one, other in combinations(options.options, 2):
        shown = [shapely.unary_union(option.holes) for option in (one, other)]
        assert shapely.symmetric_difference(*shown, grid_size=1e-9).area > 1e-4


def test_lot_sets_keep_the_rules(lots):
    for options in lots:
        holds(options)
        assert any({place_of(m) for m in option.mistakes} == {1} for option in options.options)


def test_teaching_sets_keep_the_rules(lessons):
    for options in lessons:
        holds(options)


def test_the_key_alone_is_what_folding_points_gives(lots, lessons):
    for options in lots[:12] + lessons[:12]:
        spec = options.spec.to_json()
        if any(fold["layers"] != "all" for fold in spec["folds"]):
            continue
        true = [
            o.label for o in options.options if is_true_answer(spec, list(options.punches), list(o.holes), across=160)
        ]
        assert true == [options.key]


def test_all_checks_pass(lots, lessons):
    for options in lots[:20] + lessons[:20]:
        assert [check.says for check in options.checks() if not check.ok] == []


def test_a_set_reads_back_equal(lots):
    for options in lots[:10]:
        assert OptionSet.from_json(options.to_json()).to_json() == options.to_json()


def test_the_same_seed_gives_the_same_set():
    spec = read_spec(SPEC)
    assert make_options(spec, 3).to_json() == make_options(spec, 3).to_json()
    assert len({str(make_options(spec, seed).to_json()) for seed in range(6)}) > 1


def test_a_spec_that_carries_no_set_says_what_would_help():
    hopeless = SPEC | {"folds": [], "punches": [{"shape": "disc", "at": ["1/2", "1/2"]}]}
    with pytest.raises(OptionSetError) as refused:
        make_options(read_spec(hopeless), 1)
    assert str(refused.value).endswith(".")


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


def test_keys_stand_at_every_letter(lots):
    counts = Counter(options.key for options in lots)
    assert set(counts) == set("ABCDE")
    assert max(counts.values()) < 60  # of 150; 30 expected, chance of 60 at one letter under 1e-8


def test_lots_show_many_kinds_of_mistake_mostly_singly(lots):
    wrong = [option.mistakes for options in lots for option in options.options if option.mistakes]
    kinds = Counter(m.kind for mistakes in wrong for m in mistakes)
    assert sum(len(mistakes) == 1 for mistakes in wrong) / len(wrong) >= 0.55
    assert sum(count >= 0.05 * len(wrong) for count in kinds.values()) >= 6


def test_questions_are_distinct(lots):
    assert len({options.fingerprint for options in lots}) == len(lots)


def test_filters_hold():
    wished = generate(count=12, seed=5, folds=(3, 3), punches=(1, 1), shapes=("arrow", "drop"), difficulty=(3, 5))
    for spec, options in wished:
        assert len(spec.folds) == 3
        assert [punch.shape in ("arrow", "drop") for punch in spec.punches] == [True]
        assert 3 <= options.difficulty.level <= 5


def test_impossible_wishes_end_with_what_was_found():
    wished = generate(
        count=500, seed=1, folds=(2, 2), punches=(1, 1), shapes=("disc",), creases=("straight",), difficulty=(5, 5)
    )
    with pytest.raises(OptionSetError, match=r"of 500 were made\. It would help to allow"):
        list(wished)


def test_the_same_seed_gives_the_same_questions():
    once, again = ([o.to_json() for _, o in islice(generate(count=9, seed=31), 6)] for _ in range(2))
    assert once == again
