"""The checker finds each kind of violation in books that were put wrong on purpose, and nothing in good ones."""

from __future__ import annotations

import copy

import pytest

from tests.faults.checker import check
from tests.faults.journal import Answer, Begun, Journal, Seen, Sent

NAMES = ("aa", "bb", "cc", "dd", "ee")


def books() -> tuple[Journal, list[dict]]:
    """A pupil's journal of three choices (the last too late), and the history that belongs to it."""
    sent = [Sent(7, f"id{n}", 1, n, 1, "choose", NAMES[n]) for n in (1, 2, 3)]
    journal = Journal(sent=sent)
    journal.begun = [Begun(7, "Pupil 1", 100.0, 100.2, 10)]
    moments = ((101.0, "saved"), (114.9, "saved"), (116.0, "late"))
    journal.answers = [Answer(one, at, at + 0.2, said) for one, (at, said) in zip(sent, moments, strict=True)]
    journal.seen = [Seen(7, 1, "bb", NAMES, frozenset({"bb"}))]
    history = [
        {
            "sitting": 7,
            "place": 1,
            "kind": "choose",
            "option": "EDCBA"[n],
            "client_id": f"id{n}",
            "epoch": 1,
            "seq": n,
            "received_at": f"12:00:{n:02}",
            "is_late": n == 3,
        }
        for n in (1, 2, 3)
    ]
    return journal, history


def test_good_books_are_well():
    assert check(*books()) == []


def answer(journal: Journal, number: int, **changed: object) -> None:
    journal.answers[number] = journal.answers[number]._replace(**changed)


@pytest.mark.parametrize(
    ("rule", "spoil"),
    [
        ("lost", lambda journal, history: history.pop(1)),
        ("twice", lambda journal, history: history.append(history[0] | {"seq": 9, "received_at": "12:01"})),
        ("twice", lambda journal, history: history[1].update(seq=1)),
        ("invented", lambda journal, history: history[0].update(client_id="nobody's")),
        ("changed", lambda journal, history: history[0].update(place=2)),
        ("changed", lambda journal, history: history[0].update(seq=8)),
        ("changed", lambda journal, history: history[0].update(option=history[1]["option"])),
        ("changed", lambda journal, history: history[2].update(is_late=False)),
        ("misread", lambda journal, history: journal.seen.append(Seen(7, 1, "aa", NAMES, frozenset({"bb"})))),
        ("late_in_time", lambda journal, history: answer(journal, 2, answered_at=114.0)),
        ("timely_too_late", lambda journal, history: answer(journal, 1, sent_at=116.0, answered_at=116.1)),
        ("two_sittings", lambda journal, history: journal.begun.append(Begun(8, "Pupil 1", 1, 2, 10))),
        ("reopened", lambda journal, history: history.append(history.pop(0))),
        ("reopened", lambda journal, history: history[2].update(received_at="11:59:59")),
        ("moved", lambda journal, history: journal.seen.append(Seen(7, 1, "bb", NAMES[::-1], frozenset({"bb"})))),
        ("odd", lambda journal, history: journal.note("an answer was met with 403")),
    ],
)
def test_a_spoilt_book_is_found(rule, spoil):
    journal, history = copy.copy(books()[0]), books()[1]
    spoil(journal, history)
    assert rule in {says.split(":")[0] for says in check(journal, history)}


def test_a_jump_of_the_clock_excuses_its_own_seconds_and_no_more():
    journal, history = books()
    answer(journal, 1, sent_at=118.0, answered_at=118.1)
    assert check(journal, history, set_back=3) == []
    assert check(journal, history, set_back=2) != []
    journal, history = books()
    answer(journal, 2, answered_at=113.0)
    assert check(journal, history, put_forward=2.5) == []
    assert check(journal, history, put_forward=1.5) != []
