"""Habits found in choices: against Bayes' rule worked out in fractions, and in simulated pupils with planted habits."""

from __future__ import annotations

from fractions import Fraction as F
from random import Random

import pytest

from assignments.habits import FEWEST, Answer, believe

KINDS = [f"kind {letter}" for letter in "abcdefghij"]
NOTHING: frozenset[str] = frozenset()


def question(*kinds: str | tuple[str, ...]) -> dict[str, frozenset[str]]:
    """A question with its key at A and an option for each of ``kinds`` after it."""
    behind = [NOTHING] + [frozenset([kind] if isinstance(kind, str) else kind) for kind in kinds]
    return dict(zip("ABCDE", behind, strict=True))


FOUR = question("slid", "carried", "flipped", "half-turn")


class TestAgainstFractions:
    def test_one_wrong_choice(self) -> None:
        """Bayes' rule by hand. Chosen B (slid): without a habit 1/20; with that one s + (1 - s)/20, else (1 - s)/20.

        Averaged over s = .4, .6, .8: .6 + .4/20 = 31/50, and .4/20 = 1/50. Before: none 1/2, each of four 1/8.
        """
        weights = {"none": F(1, 2) * F(1, 20), "slid": F(1, 8) * F(31, 50), "carried": F(1, 8) * F(1, 50)}
        whole = weights["none"] + weights["slid"] + 3 * weights["carried"]
        belief = believe([Answer(FOUR, "B")])
        assert belief.none == pytest.approx(float(weights["none"] / whole), abs=1e-12)
        assert belief.habits["slid"] == pytest.approx(float(weights["slid"] / whole), abs=1e-12)
        assert belief.habits["carried"] == pytest.approx(float(weights["carried"] / whole), abs=1e-12)

    def test_any_answers(self) -> None:
        """The rule once more, as a product over answers for each of the fifteen suppositions, in exact fractions."""
        lot = Random(7)
        answers = [Answer(question(*lot.sample(KINDS, 4)), lot.choice("AABCDE")) for _ in range(25)]

        def chance(answer: Answer, habit: str | None, s: F) -> F:
            plain = F(4, 5) if answer.chosen == "A" else F(1, 20)
            if not any(habit in kinds for kinds in answer.offered.values()):
                return plain
            return (1 - s) * plain + (s if habit in answer.offered[answer.chosen] else 0)

        def likely(habit: str | None) -> F:
            total = F(0)
            for s in (F(2, 5), F(3, 5), F(4, 5)):
                product = F(1)
                for answer in answers:
                    product *= chance(answer, habit, s)
                total += product / 3
            return total

        weights = {kind: F(1, 20) * likely(kind) for kind in KINDS} | {None: F(1, 2) * likely(None)}
        belief = believe(answers)
        for kind in KINDS:
            assert belief.habits[kind] == pytest.approx(float(weights[kind] / sum(weights.values())), abs=1e-9)
        assert believe(answers[::-1]).habits == pytest.approx(belief.habits)


class TestWhatTempts:
    def test_an_option_with_the_mistake_alone_tempts_before_one_with_another_besides(self) -> None:
        offered = question("slid", ("slid", "flipped"), "carried", "half-turn")
        alone, both = believe([Answer(offered, "B")]), believe([Answer(offered, "C")])
        assert alone.habits["slid"] > 0.5
        assert both.habits["slid"] < both.none

    def test_where_only_shared_options_have_it_they_tempt_alike(self) -> None:
        offered = question(("slid", "flipped"), ("slid", "carried"), "half-turn", "half-turn")
        first, second = believe([Answer(offered, "B")]), believe([Answer(offered, "C")])
        assert first.habits["slid"] == pytest.approx(second.habits["slid"])

    def test_two_keys_are_both_right(self) -> None:
        offered = FOUR | {"B": NOTHING}
        assert "slid" not in believe([Answer(offered, "B")]).habits
        assert believe([Answer(offered, "B")]).none == pytest.approx(believe([Answer(offered, "A")]).none)


class TestWhatIsNamed:
    def test_nothing_from_no_answers(self) -> None:
        assert (believe([]).named, believe([]).none) == (None, 1.0)

    def test_nothing_from_fewer_than_ten_however_clear(self) -> None:
        assert believe([Answer(FOUR, "B")] * (FEWEST - 1)).named is None
        assert believe([Answer(FOUR, "B")] * FEWEST).named == "slid"

    def test_a_thousand_answers_run_over_no_number(self) -> None:
        assert believe([Answer(FOUR, "B")] * 1000).habits["slid"] == pytest.approx(1)

    def test_how_sure_is_said_in_words(self) -> None:
        sure = believe([Answer(FOUR, "B")] * FEWEST)
        assert (sure.words, sure.sureness > 0.99) == ("very likely", True)


def balanced(lot: Random, count: int) -> list[dict[str, frozenset[str]]]:
    """Questions of four kinds out of ten, each kind offered equally often."""
    deck: list[str] = []
    out = []
    for _ in range(count):
        if len(deck) < 4:
            fresh = lot.sample(KINDS, 10)
            deck += sorted(fresh, key=lambda kind: kind in deck)
        drawn: list[str] = []
        for kind in deck:
            if kind not in drawn and len(drawn) < 4:
                drawn.append(kind)
        for kind in drawn:
            deck.remove(kind)
        out.append(question(*drawn))
    return out


def sat(lot: Random, questions: list[dict[str, frozenset[str]]], habit: str | None) -> list[Answer]:
    """A simulated pupil: a habit is followed seven times in ten where it is offered."""
    answers = []
    for offered in questions:
        tempted = [letter for letter, kinds in offered.items() if habit in kinds]
        plain = "A" if lot.random() < 0.8 else lot.choice("BCDE")
        answers.append(Answer(offered, tempted[0] if tempted and lot.random() < 0.7 else plain))
    return answers


@pytest.mark.parametrize(("count", "least"), [(20, 0.92), (10, 0.63)])
def test_planted_habits_are_found_and_none_where_there_is_none(count: int, least: float) -> None:
    """A prototype of our own named 95 % from 20 balanced questions, 67 to 73 % from 10; no false alarm from 20."""
    lot = Random(count)
    found = wrong = false = 0
    for number in range(600):
        habit = lot.choice(KINDS) if number % 2 else None
        named = believe(sat(lot, balanced(lot, count), habit)).named
        found += habit is not None and named == habit
        wrong += habit is not None and named not in (None, habit)
        false += habit is None and named is not None
    assert found / 300 >= least
    assert wrong / 300 <= 0.02
    assert false / 300 <= 0.02
