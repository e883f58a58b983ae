"""Picking by rule and what a set may be expected to do, as pure functions."""

from __future__ import annotations

from collections import Counter
from types import SimpleNamespace

import pytest
from scipy.stats import chisquare

from assignments.outlook import outlook_of
from assignments.picking import Traits, pick
from tests.assignments.factories import MISTAKES, options_with_key


def traits(number: int, level: int = 2, *kinds: str) -> Traits:
    return Traits(number, level, 0.9 - level / 10, frozenset(kinds or ("slid",)))


class TestPick:
    def test_levels_are_shared_out_and_rise(self) -> None:
        pool = [traits(n, 1 + n % 4) for n in range(40)]
        levels = [one.level for one in pick(pool, 12, 1)]
        assert levels == [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4]

    def test_where_a_level_has_few_the_others_give_more(self) -> None:
        pool = [traits(0, 1), *(traits(n, 3) for n in range(1, 9))]
        assert [one.level for one in pick(pool, 4, 1)] == [1, 3, 3, 3]

    def test_mistakes_are_offered_equally_often(self) -> None:
        """Of 40 questions eight of ten offer one and the same mistake; of 12 picked no kind leads by more than one."""
        kinds = ["slid"] * 32 + ["carried", "half-turn", "flipped", "swapped"] * 2
        pool = [traits(n, 2, kind) for n, kind in enumerate(kinds)]
        for seed in range(20):
            counts = Counter(kind for one in pick(pool, 10, seed) for kind in one.kinds)
            assert sorted(counts.values()) == [2, 2, 2, 2, 2]

    def test_what_is_alike_is_picked_by_lot(self) -> None:
        """Pearson's chi-square by scipy: over 600 lots no question of ten is favoured at the 0.1 % level."""
        pool = [traits(n) for n in range(10)]
        counts = Counter(one.question for seed in range(600) for one in pick(pool, 3, seed))
        assert chisquare([counts[n] for n in range(10)]).pvalue > 0.001
        assert pick(pool, 3, 5) == pick(pool[::-1], 3, 5), "the seed decides, not the order of the pool"

    def test_by_lot_they_do_not_rise(self) -> None:
        pool = [traits(n, 1 + n % 5) for n in range(50)]
        levels = [one.level for one in pick(pool, 20, 3, rising=False)]
        assert levels != sorted(levels)
        assert Counter(levels) == dict.fromkeys(range(1, 6), 4)

    @pytest.mark.parametrize(("count", "found"), [(0, 0), (3, 3), (99, 7)])
    def test_never_more_than_there_are(self, count: int, found: int) -> None:
        assert len(pick([traits(n) for n in range(7)], count, 1)) == found


def version(pk: int, key: str, level: int, facility: float | None = 0.7) -> SimpleNamespace:
    difficulty = {} if facility is None else {"facility": facility}
    return SimpleNamespace(pk=pk, key=key, level=level, difficulty=difficulty, options=options_with_key(key))


class TestOutlook:
    """Expected by hand. Thirty seconds a question: common practice, no published source."""

    def test_means_times_keys_and_mistakes(self) -> None:
        four = [version(1, "A", 1, 0.9), version(2, "A", 3, 0.5), version(3, "E", 4), version(4, "B", 4, None)]
        outlook = outlook_of(four, {1: 20.0, 2: 47.0})
        assert outlook.level == 3
        assert outlook.facility == pytest.approx(0.7)
        assert outlook.seconds == 130  # 20 + 47 + 30 + 30 = 127
        assert (outlook.measured, outlook.unmeasured) == (2, 2)
        assert [(key.label, key.count, key.share) for key in outlook.keys] == [
            ("A", 2, 0.5),
            ("B", 1, 0.25),
            ("C", 0, 0),
            ("D", 0, 0),
            ("E", 1, 0.25),
        ]
        assert [(row.count, row.share) for row in outlook.mistakes] == [(4, 1.0)] * len(MISTAKES)

    def test_an_empty_set(self) -> None:
        outlook = outlook_of([], {})
        assert (outlook.level, outlook.facility, outlook.seconds, outlook.mistakes) == (None, None, 0, ())
