"""Marks against examples worked by hand. No database: marking is a function of its arguments."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from assignments.marking import Act, Asked, Mistake, Outcome, mark

START = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
SLID = Mistake("slid", 1, "The copy was slid.")
LINE = Mistake("wrong-line", 2, "The wrong line.")
QUESTIONS = [
    Asked(11, 1, "C", {"A": (SLID,), "B": (LINE,), "D": (SLID, LINE), "E": (LINE,)}),
    Asked(12, 2, "A", {"B": (SLID,)}),
    Asked(13, 3, "E", {"A": (LINE,)}),
]


def act(question: int, option: str, seq: int, seconds: float, **others: object) -> Act:
    at = START + timedelta(seconds=seconds)
    facts = {"kind": "choose", "epoch": 1, "is_late": False} | others
    return Act(question=question, option=option, seq=seq, received_at=at, **facts)


def outcomes(acts: list[Act]) -> list[tuple[str, str]]:
    return [(one.choice, one.outcome.value) for one in mark(acts, QUESTIONS, START).each]


def test_right_wrong_and_unanswered() -> None:
    marks = mark([act(11, "C", 1, 20), act(12, "B", 2, 50)], QUESTIONS, START)
    assert [one.outcome for one in marks.each] == [Outcome.RIGHT, Outcome.WRONG, Outcome.UNANSWERED]
    assert (marks.right, marks.wrong, marks.unanswered) == (1, 1, 1)


def test_the_last_choice_counts_not_the_first() -> None:
    acts = [act(11, "A", 1, 10), act(11, "B", 2, 15), act(11, "C", 3, 21)]
    assert outcomes(acts)[0] == ("C", "right")
    assert mark(acts, QUESTIONS, START).each[0].standing.changes == 2


def test_choosing_the_same_again_is_no_change() -> None:
    assert mark([act(11, "A", 1, 10), act(11, "A", 2, 12)], QUESTIONS, START).each[0].standing.changes == 0


def test_the_device_opened_last_counts_whatever_its_own_count() -> None:
    acts = [act(11, "A", 900, 40), act(11, "C", 1, 10, epoch=2)]
    assert outcomes(acts)[0] == ("C", "right")


def test_what_arrives_out_of_order_is_put_in_order() -> None:
    acts = [act(11, "C", 2, 10), act(11, "A", 1, 14)]  # the second choice overtook the first on its way
    assert outcomes(acts)[0] == ("C", "right")


def test_a_late_choice_is_kept_and_does_not_count() -> None:
    acts = [act(11, "C", 1, 10), act(11, "A", 2, 99, is_late=True), act(12, "A", 3, 99, is_late=True)]
    marks = mark(acts, QUESTIONS, START)
    assert outcomes(acts)[:2] == [("C", "right"), ("", "unanswered")]
    assert [one.standing.late_choice for one in marks.each] == ["A", "A", ""]
    assert marks.late == 2


def test_time_between_two_acts_belongs_to_the_question_of_the_second() -> None:
    # By hand: question 1 chosen at 20 s; question 2 at 50 s (30 s); back to 1 at 65 s (15 s more); 3 never.
    acts = [act(11, "A", 1, 20), act(12, "B", 2, 50), act(11, "C", 3, 65)]
    marks = mark(acts, QUESTIONS, START)
    assert [one.standing.seconds for one in marks.each] == [35, 30, 0]
    assert marks.seconds == 65


def test_a_flag_is_up_until_it_is_taken_down() -> None:
    up = [act(11, "", 1, 5, kind="flag")]
    assert mark(up, QUESTIONS, START).each[0].standing.is_flagged
    down = [*up, act(11, "", 2, 6, kind="unflag")]
    assert not mark(down, QUESTIONS, START).each[0].standing.is_flagged


def test_a_wrong_choice_names_its_mistakes_and_a_right_one_none() -> None:
    assert mark([act(11, "D", 1, 5)], QUESTIONS, START).each[0].mistakes == (SLID, LINE)
    assert mark([act(11, "C", 1, 5)], QUESTIONS, START).each[0].mistakes == ()
    assert mark([], QUESTIONS, START).each[0].mistakes == ()


def test_marks_stand_in_the_order_of_the_set_whatever_the_pupils_order() -> None:
    marks = mark([act(13, "E", 1, 5)], QUESTIONS[::-1], START)
    assert [one.asked.position for one in marks.each] == [1, 2, 3]


events = st.builds(
    act,
    question=st.sampled_from([11, 12, 13]),
    option=st.sampled_from("ABCDE"),
    seq=st.integers(1, 10**6),
    seconds=st.integers(0, 90),
    epoch=st.integers(1, 3),
    kind=st.sampled_from(["choose", "choose", "flag", "unflag"]),
    is_late=st.booleans(),
)


@given(st.lists(events, max_size=20, unique_by=lambda e: (e.epoch, e.seq)), st.randoms(use_true_random=False))
def test_recomputed_from_any_order_of_reading_the_bytes_are_the_same(acts: list[Act], lot: random.Random) -> None:
    shuffled = lot.sample(acts, len(acts))
    questions = lot.sample(QUESTIONS, len(QUESTIONS))
    assert mark(shuffled, questions, START).to_bytes() == mark(acts, QUESTIONS, START).to_bytes()


@given(st.lists(events, max_size=20, unique_by=lambda e: (e.epoch, e.seq)))
def test_the_choice_that_counts_is_the_greatest_of_those_in_time(acts: list[Act]) -> None:
    for one in mark(acts, QUESTIONS, START).each:
        in_time = [
            (a.epoch, a.seq, a.option)
            for a in acts
            if a.question == one.asked.question and a.kind == "choose" and not a.is_late
        ]
        assert one.choice == (max(in_time)[2] if in_time else "")
