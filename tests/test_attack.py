"""Whoever keeps all that a browser was given, and learns from half of it, guesses the rest no better than chance."""

from __future__ import annotations

from random import Random

import pytest
from scipy.stats import binom

from tests.attack import Question, attack, bound, received


def test_the_bound_is_the_exact_one():
    """Of 1,000 guesses at five options 240 are within chance; 241 have p < 0.001 (binomial distribution)."""
    assert bound(1000) == 240
    assert binom.sf(240, 1000, 0.2) < 0.001 < binom.sf(239, 1000, 0.2)


@pytest.fixture(scope="module")
def questions() -> list[Question]:
    return list(received(40, seed=11))


def test_nothing_received_of_the_options_tells_the_key(questions):
    over = {feature: hits for feature, hits in attack(questions).items() if hits > bound(20)}
    assert over == {}


@pytest.mark.parametrize("leak", ["bytes", "name", "count of 7"])
def test_the_attack_finds_a_planted_leak(questions, leak):
    """A key whose option is a little longer, or named or drawn a little otherwise, than the others."""
    spoilt = [
        Question(
            [one | {leak: one[leak] + (at == asked.key) * 1e20} for at, one in enumerate(asked.options)], asked.key
        )
        for asked in questions
    ]
    assert max(attack(spoilt).values()) == 20


def test_the_attack_finds_no_key_in_chance(questions):
    lot = Random(3)
    drawn = [asked._replace(key=lot.randrange(5)) for asked in questions]
    assert max(attack(drawn).values()) <= bound(20)
