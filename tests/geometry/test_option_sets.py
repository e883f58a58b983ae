"""Option sets by the rules: five pictures, one right, each other standing for nameable mistakes.

Rules of writing options: plausible distractors made of pupils' typical errors, homogeneous options (Haladyna, Downing
and Rodriguez 2002, guidelines 24 to 30; numbers from memory); keys drawn at random, not balanced (Bar-Hillel and Attali
2001).
"""

from collections import Counter
from itertools import combinations

import pytest
import shapely

from geometry.errors import OptionSetError
from geometry.option_sets import OptionSet, make_options, place_of
from geometry.spec import read_spec
from geometry.teaching import why_not, work_out
from geometry.unfolding import unfold
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


def test_keys_stand_at_every_letter(lots):
    counts = Counter(options.key for options in lots)
    assert set(counts) == set("ABCDE")
    assert max(counts.values()) < 60  # of 150; 30 expected, chance of 60 at one letter under 1e-8


HALF = {"bring": [0, "1/2"], "to": [1, "1/2"]}
HEART = {"shape": "heart", "at": ["3/4", "2/3"], "size": "1/8"}
NEAR = HEART | {"at": ["5/8", "2/3"]}  # nearer the crease than the edge


def test_punches_that_run_into_one_another_are_to_be_put_apart():
    punches = [HEART, HEART | {"shape": "disc", "at": ["3/4", "3/5"]}]
    with pytest.raises(OptionSetError, match="Put the punches apart"):
        make_options(read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": [HALF], "punches": punches}), 1)


@pytest.mark.parametrize(
    ("count", "says"),
    [
        (0, "No wrong picture differs visibly"),
        (1, "Only one wrong picture differs visibly"),
        (3, "Only 3 wrong pictures differ visibly"),
    ],
)
def test_however_few_wrong_pictures_there_are_they_are_told_in_good_english(count, says):
    workings = work_out(unfold(read_spec(SPEC)))
    assert why_not(workings, workings.candidates()[:count], ()).startswith(says)


@pytest.mark.parametrize(
    ("folds", "punch", "kinds", "says"),
    [
        ([], HEART, (), "at least one fold"),
        ([HALF], None, (), "add a punch"),
        ([HALF], HEART | {"at": ["1/2", "1/2"]}, (), "Move the punch off the crease"),
        ([HALF], HEART | {"shape": "disc", "at": ["3/4", "1/2"], "size": "2/5"}, (), "Make the hole smaller"),
        ([HALF], HEART, ("swapped",), "it needs two punches of different shapes"),
        ([HALF], HEART, ("one-missed",), "it needs an opening with two holes or more"),
        ([HALF], NEAR, ("slid", "carried", "half-turn", "wrong-line", "wrong-distance"), "ask for fewer kinds at once"),
    ],
)
def test_what_keeps_a_spec_from_a_set_is_said_with_what_would_help(folds, punch, kinds, says):
    spec = {"version": 1, "sheet": {"kind": "square"}, "folds": folds, "punches": [punch] if punch else []}
    with pytest.raises(OptionSetError) as refused:
        make_options(read_spec(spec), 1, kinds=kinds)
    assert says in str(refused.value)


@pytest.mark.parametrize("kind", ["slid", "not-turned", "from-edge", "no-second-layer"])
def test_a_kind_asked_for_is_offered(kind):
    options = make_options(read_spec(SPEC), 2, kinds=(kind,))
    assert kind in {mistake.kind for option in options.options for mistake in option.mistakes}
