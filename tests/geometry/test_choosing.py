"""Choosing questions that offer mistakes evenly, and the habits that are then found in simulated pupils.

That 20 questions with kinds balanced name 95 % of planted habits was measured on a prototype of our own; the pupils
obey the model that judges them. ``tests/bench/bench_diagnosis.py`` is the long form.
"""

from __future__ import annotations

from random import Random

import pytest
from scipy.stats import binomtest

from geometry.choosing import OFTEN, balanced, offers
from geometry.errors import OptionSetError
from tests.bench.bench_diagnosis import rates

PUPILS = 1000


@pytest.mark.parametrize(("sets", "goal"), [("lots", 0.85), ("lessons", 0.95)])
def test_planted_habits_are_found_from_twenty_answers(sets, goal, request):
    """Each rate might be the goal by the exact binomial test (scipy) at one in a thousand."""
    pool = request.getfixturevalue(sets)
    places, offered = balanced([offers(options) for options in pool], 20, 1)
    found, wrong, false = rates([pool[place] for place in places], list(offered), PUPILS, Random(5))
    half = PUPILS // 2
    assert binomtest(round(found * half), half, goal, alternative="less").pvalue > 1e-3
    assert binomtest(round(false * half), half, 0.02, alternative="greater").pvalue > 1e-3
    assert wrong < 0.02
    assert len(offered) >= 4


def test_each_kind_looked_for_is_offered_often_and_evenly(lots):
    pool = [offers(options) for options in lots]
    places, offered = balanced(pool, 20, 3)
    assert len(set(places)) == 20
    assert places == sorted(places)
    assert min(offered.values()) >= OFTEN
    assert max(offered.values()) - min(offered.values()) <= 4
    for kind, times in offered.items():
        assert times == sum(pool[place].get(kind, 0) for place in places)


def test_an_option_with_a_mistake_alone_counts_for_more(lots):
    options = next(o for o in lots if any(len(option.mistakes) == 2 for option in o.options))
    alone = {option.mistakes[0].kind for option in options.options if len(option.mistakes) == 1}
    for kind, worth in offers(options).items():
        assert worth == (1.0 if kind in alone else 0.5)


def test_a_perfectly_even_pool_is_chosen_perfectly_evenly():
    """Six kinds, each question offering three: ten questions offer each kind five times when they can."""
    kinds = "abcdef"
    pool = [{kinds[i]: 1.0, kinds[(i + 1) % 6]: 1.0, kinds[(i + 3) % 6]: 1.0} for i in range(6)] * 6
    places, offered = balanced(pool, 18, 2)
    assert set(offered.values()) == {9.0}
    assert len(places) == 18


def test_the_same_seed_chooses_the_same(lots):
    pool = [offers(options) for options in lots]
    assert balanced(pool, 20, 4) == balanced(pool, 20, 4)
    assert balanced(pool, 20, 4) != balanced(pool, 20, 5)


def test_more_than_there_are_is_refused():
    with pytest.raises(OptionSetError, match="3 questions cannot be chosen from 1"):
        balanced([{"slid": 1.0}], 3)
