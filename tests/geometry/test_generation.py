"""Questions by the thousand: what is asked for holds, and what cannot be found is said.

Keys are drawn at random, not balanced, since a balanced key can be exploited (Bar-Hillel and Attali 2001).
"""

from __future__ import annotations

from collections import Counter
from itertools import islice

import pytest

from geometry.errors import OptionSetError
from geometry.generation import generate


def test_lots_show_many_kinds_of_mistake_mostly_singly(lots):
    wrong = [option.mistakes for options in lots for option in options.options if option.mistakes]
    kinds = Counter(m.kind for mistakes in wrong for m in mistakes)
    assert sum(len(mistakes) == 1 for mistakes in wrong) / len(wrong) >= 0.55
    assert sum(count >= 0.05 * len(wrong) for count in kinds.values()) >= 6


def test_questions_are_distinct(lots):
    assert len({options.fingerprint for options in lots}) == len(lots)


def test_filters_hold():
    wished = generate(count=8, seed=5, folds=(3, 3), punches=(1, 1), shapes=("arrow", "drop"), difficulty=(3, 5))
    for spec, options in wished:
        assert len(spec.folds) == 3
        assert [punch.shape in ("arrow", "drop") for punch in spec.punches] == [True]
        assert 3 <= options.difficulty.level <= 5


def test_impossible_wishes_end_with_what_was_found():
    wished = generate(
        count=500, seed=1, folds=(2, 2), punches=(1, 1), shapes=("disc",), creases=("straight",), difficulty=(5, 5)
    )
    with pytest.raises(OptionSetError, match=r"of 500 were made\. It would help to allow") as refused:
        list(wished)
    assert "more levels" in str(refused.value)
    assert "more punches" not in str(refused.value)  # tried, and no help


def test_the_same_seed_gives_the_same_questions():
    once, again = ([o.to_json() for _, o in islice(generate(count=9, seed=31), 6)] for _ in range(2))
    assert once == again
