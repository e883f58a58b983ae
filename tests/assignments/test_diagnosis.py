"""Mistakes counted behind wrong choices, against an example counted by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from assignments.diagnosis import MistakeCount, are_too_few, count_mistakes, label_of
from assignments.marking import Act, Asked, Marks, Mistake, mark
from geometry.mistakes import KINDS

START = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
SLID, LINE = Mistake("slid", 1, "It slid."), Mistake("wrong-line", 2, "The wrong line.")
QUESTIONS = [
    Asked(1, 1, "A", {"B": (SLID,), "C": (LINE,), "D": (SLID, LINE)}),
    Asked(2, 2, "B", {"A": (SLID,), "C": (SLID,)}),
]


def marked(choices: str) -> Marks:
    acts = [
        Act(number, "choose", letter, 1, number, START + timedelta(seconds=number), False)
        for number, letter in enumerate(choices, 1)
        if letter != "-"
    ]
    return mark(acts, QUESTIONS, START)


def test_counted_by_hand() -> None:
    """Ann: B (slid), A (slid). Bo: D (slid and line), B (right). Cy: C (line), nothing. Di: all right.

    slid: Ann 2, Bo 1, in questions 1 and 2; line: Bo 1, Cy 1, in question 1.
    """
    slid, line = count_mistakes(
        [("Ann", marked("BA")), ("Bo", marked("DB")), ("Cy", marked("C-")), ("Di", marked("AB"))]
    )
    assert (slid.kind, slid.count, slid.pupils, slid.positions) == ("slid", 3, (("Ann", 2), ("Bo", 1)), (1, 2))
    assert (line.kind, line.count, line.pupils, line.positions) == ("wrong-line", 2, (("Bo", 1), ("Cy", 1)), (1,))


def test_nothing_is_counted_where_nothing_is_wrong() -> None:
    assert count_mistakes([("Di", marked("AB")), ("Ed", marked("--"))]) == []


def test_two_mistakes_of_one_kind_behind_one_choice_count_once() -> None:
    twice = [Asked(1, 1, "A", {"B": (SLID, Mistake("slid", 2, "Again."))})]
    acts = [Act(1, "choose", "B", 1, 1, START, False)]
    (slid,) = count_mistakes([("Ann", mark(acts, twice, START))])
    assert slid.count == 1


def test_equally_frequent_kinds_have_a_fixed_order() -> None:
    kinds = [count.kind for count in count_mistakes([("Ann", marked("C-")), ("Bo", marked("B-"))])]
    assert kinds == ["slid", "wrong-line"]


def test_fewer_than_ten_answers_are_too_few_whatever_was_left_out() -> None:
    four = [marked("AB"), marked("CA")]
    assert are_too_few(four * 2 + [marked("A-")])  # nine
    assert not are_too_few(four * 2 + [marked("AA")])  # ten


def test_every_kind_has_a_name_for_teachers_and_an_unknown_one_its_own() -> None:
    assert [label_of(kind) for kind in KINDS] == [kind.label for kind in KINDS.values()]
    assert label_of("out-of-use") == "Out of use"


def test_every_time_has_a_disc_or_is_counted_behind_the_line() -> None:
    for count, discs, more in ((1, 1, 0), (30, 30, 0), (38, 30, 8)):
        made = MistakeCount("slid", count, (), ())
        assert (len(made.discs), made.more) == (discs, more)
