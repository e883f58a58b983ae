"""What is asked of the generator, shared out over the places of a batch."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from bank.asking import MIXED, SHARED, Ask, AtLeast, lot_for, what_ran_out
from bank.forms.asking import AskForm
from geometry.generation import TEACHING

TWENTY = Ask(count=20, seed=4, folds=(2, 3), at_least=(AtLeast("crease:diagonal", 5), AtLeast("swapped", 3)))


def test_what_is_kept_is_what_was_asked():
    assert Ask.from_json(TWENTY.to_json()) == TWENTY


def test_at_least_so_many_places_have_what_was_asked_and_the_others_are_free():
    wishes = TWENTY.wishes()
    assert sum(wish.creases == ("diagonal",) for wish in wishes) == 5
    assert sum(wish.mistakes == ("swapped",) for wish in wishes) == 3
    assert all({wish.folds, wish.punches} == {(2, 3), (1, 2)} for wish in wishes)
    assert wishes == TWENTY.wishes(), "the same seed gives the same wishes"


def test_more_wishes_than_places_meet_at_the_same_places():
    wishes = Ask(count=4, seed=1, at_least=(AtLeast("slid", 4), AtLeast("carried", 2))).wishes()
    assert sum("slid" in wish.mistakes for wish in wishes) == 4
    assert sum({"slid", "carried"} == set(wish.mistakes) for wish in wishes) == 2


@pytest.mark.parametrize("arrangement", [SHARED, MIXED])
def test_levels_are_shared_out_evenly(arrangement):
    wishes = replace(TWENTY, arrangement=arrangement, levels=(2, 4)).wishes()
    levels = [wish.difficulty[0] for wish in wishes]
    assert sorted(Counter(levels).values()) == [6, 7, 7]
    assert (levels == sorted(levels)) == (arrangement == SHARED)


def test_every_draw_has_a_lot_of_its_own():
    lots = [lot_for(7, place, turn, tries) for place in range(20) for turn in range(3) for tries in range(10)]
    assert len(set(lots)) == len(lots)
    assert lots[0] == lot_for(7, 0, 0, 0)


def test_what_ran_out_is_told_with_what_would_help():
    ask = replace(TWENTY, sets=TEACHING, arrangement=SHARED, levels=(1, 5))
    said = what_ran_out(ask.wishes(), [1, 2, 20], TEACHING)
    assert "difficulty 1" in said
    assert "difficulty 5" in said
    assert "It would help to allow more levels" in said
    assert what_ran_out(ask.wishes(), [], TEACHING) == ""


TYPED = {
    "count": "20",
    "sets": "lot",
    "folds_from": "2",
    "folds_to": "3",
    "creases": ["straight", "diagonal"],
    "punches_from": "1",
    "punches_to": "2",
    "shapes": ["heart", "arrow"],
    "level_from": "1",
    "level_to": "5",
    "arrangement": "rising",
    "least_0": "5",
    "with_0": "crease:diagonal",
    "seed": "0",
}


def test_a_form_filled_in_is_what_is_asked():
    form = AskForm(TYPED)
    assert form.is_valid(), form.errors
    wanted = Ask(20, 0, (2, 3), (1, 2), ("straight", "diagonal"), ("heart", "arrow"), False, (1, 5))
    assert form.ask() == replace(wanted, at_least=(AtLeast("crease:diagonal", 5),))


def test_without_a_seed_one_is_drawn():
    seeds = set()
    for _ in range(3):
        form = AskForm(TYPED | {"seed": ""})
        assert form.is_valid()
        seeds.add(form.ask().seed)
    assert len(seeds) == 3


@pytest.mark.parametrize(
    ("changed", "field", "says"),
    [
        ({"count": "101"}, "count", "from 1 to 100"),
        ({"count": "many"}, "count", "from 1 to 100"),
        ({"count": "9" * 500}, "count", "from 1 to 100"),
        ({"folds_from": "3", "folds_to": "2"}, "folds_to", "not be less"),
        ({"folds_from": "1", "folds_to": "1"}, "folds_to", "two folds or more"),
        ({"creases": []}, "creases", "one kind of crease"),
        ({"shapes": ["heart", "elephant"]}, "shapes", "One of those ticked at “Shapes”"),
        ({"shapes": []}, "shapes", "one shape"),
        ({"least_0": "21"}, "least_0", "20 questions in all"),
        ({"with_0": ""}, "with_0", "Choose what"),
        ({"least_0": ""}, "least_0", "how many questions"),
        ({"seed": "-1"}, "seed", "from 0"),
        ({"level_from": "x"}, "level_from", "“Difficulty, from” is not offered"),
    ],
)
def test_what_cannot_be_asked_is_said_at_its_field(changed, field, says):
    form = AskForm(TYPED | changed)
    assert not form.is_valid()
    assert says in " ".join(form.errors[field])
