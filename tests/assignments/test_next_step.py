"""What a pupil is told of a set: facts, one thing to practise, nobody beside; and where the page shows it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.marking import Act, Asked, Marks, Mistake, mark
from assignments.next_step import HOW, NextStep, next_step
from geometry.mistakes import KINDS
from tests.assignments.factories import make_assignment, make_sitting

START = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
FOLDS = {1: 1, 2: 1, 3: 2, 4: 2}
MISTAKES = {"B": (Mistake("slid", 1, "It slid."),), "C": (Mistake("wrong-line", 1, "The wrong line."),)}


def marked(choices: str) -> Marks:
    acts = [
        Act(number, "choose", letter, 1, number, START + timedelta(seconds=number), False)
        for number, letter in enumerate(choices, 1)
        if letter != "-"
    ]
    return mark(acts, [Asked(number, number, "A", MISTAKES) for number in FOLDS], START)


@pytest.mark.parametrize(
    ("choices", "well", "practise", "question"),
    [
        ("AAAA", "You had all 4 questions right.", "", 0),
        ("ABAA", "With 2 folds you had 2 of 2 right.", "mirroring, not sliding", 2),
        ("AACB", "With 1 fold you had 2 of 2 right.", "mirroring, not sliding", 4),
        ("ABCC", "You had 1 question right.", "finding the mirror line", 3),
        ("BBBB", "You tried 4 questions.", "mirroring, not sliding", 1),
        ("AAA-", "With 1 fold you had 2 of 2 right.", "getting to every question", 4),
        ("----", "You looked at the set.", "getting to every question", 1),
    ],
)
def test_what_is_told(choices: str, well: str, practise: str, question: int) -> None:
    told = next_step(marked(choices), FOLDS)
    assert (told.well, told.practise, told.question) == (well, practise, question)
    assert bool(told.how) == bool(practise)


def test_there_is_a_hint_for_every_kind_of_mistake() -> None:
    assert set(HOW) == set(KINDS)


def test_nothing_is_compared_or_praised() -> None:
    said = " ".join(word for pair in HOW.values() for word in pair)
    assert not any(word in said.lower() for word in ("others", "class", "better", "well done", "!", "wrong"))
    assert NextStep("You had 1 question right.").practise == ""


@pytest.mark.django_db
def test_it_stands_on_the_pupils_page_once_answers_are_told(client_of, school_class: SchoolClass, pupil: User) -> None:
    sitting = make_sitting(make_assignment(school_class, feedback="now"), pupil, choices="CBE")
    client = client_of(pupil)
    page = client.get(reverse("assignments:start", args=[sitting.assignment_id])).content.decode()
    assert "With 1 fold you had 2 of 3 right." not in page  # below three quarters
    assert "You had 2 questions right." in page
    assert "One thing to practise: mirroring, not sliding" in page
    assert reverse("assignments:review", args=[sitting.pk, 2]) in page
    untold = make_sitting(make_assignment(school_class, feedback="never"), pupil, choices="CBE")
    page = client.get(reverse("assignments:start", args=[untold.assignment_id])).content.decode()
    assert "One thing to practise" not in page
