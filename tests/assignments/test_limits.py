"""A limit for each question, by the server's clock: from when the pupil first comes to it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.models import Assignment, Event, Sitting
from assignments.services import timing
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.assignments.test_question_page import page_of
from tests.assignments.test_recording import choices, send

pytestmark = pytest.mark.django_db


def after(seconds: float):
    return NOON + timedelta(seconds=seconds)


@pytest.fixture
def assignment(school_class: SchoolClass) -> Assignment:
    return make_assignment(school_class, allowance=600, question_seconds=20)


@pytest.fixture
def sitting(assignment: Assignment, pupil: User) -> Sitting:
    return make_sitting(assignment, pupil)


def test_after_its_limit_a_choice_is_kept_and_late_and_the_sitting_goes_on(sitting: Sitting) -> None:
    send(sitting, "", kind="open", at=after(10))
    assert not send(sitting, "A", at=after(35)).is_late  # on its way when time was up
    assert send(sitting, "B", at=after(35.001)).is_late
    assert choices(sitting) == "A--"
    assert Sitting.objects.get().is_running(after(40))
    assert not send(sitting, "C", place=2, at=after(41)).is_late


def test_word_held_back_gains_nothing(sitting: Sitting) -> None:
    send(sitting, "A", place=2, at=after(4))
    assert send(sitting, "B", at=after(4 + 25.001)).is_late


def test_coming_back_does_not_begin_anew(sitting: Sitting) -> None:
    send(sitting, "", kind="open", at=after(1))
    send(sitting, "", kind="open", place=2, at=after(5))
    send(sitting, "", kind="open", at=after(20))
    assert send(sitting, "A", at=after(27)).is_late


def test_extra_time_and_stops_are_on_top(assignment: Assignment, pupil: User, teacher: User) -> None:
    sitting = make_sitting(assignment, pupil, extra_percent=50)
    send(sitting, "", kind="open", at=after(0))
    timing.pause_all(assignment=assignment, by=teacher, at=after(10))
    timing.resume_all(assignment=assignment, by=teacher, at=after(110))
    assert not send(sitting, "A", at=after(100 + 30 + 5)).is_late
    assert send(sitting, "B", at=after(100 + 30 + 5.001)).is_late


def test_a_choice_that_comes_while_the_clock_stands_counts(sitting: Sitting, teacher: User) -> None:
    send(sitting, "", kind="open", at=after(0))
    timing.pause_all(assignment=sitting.assignment, by=teacher, at=after(10))
    assert not send(sitting, "A", at=after(500)).is_late


def test_without_a_limit_nothing_is_asked_or_noted(school_class, pupil: User, client_of, set_clock) -> None:
    set_clock(NOON)
    tablet = client_of(pupil)
    page = tablet.get(tablet.post(reverse("assignments:start", args=[make_assignment(school_class).pk]))["Location"])
    assert "data-question-left" not in page.content.decode()
    assert not Event.objects.exists()


def test_the_page_tells_and_shuts_the_question(assignment: Assignment, pupil: User, client_of, set_clock) -> None:
    set_clock(NOON)
    tablet = client_of(pupil)
    tablet.post(reverse("assignments:start", args=[assignment.pk]))
    sitting = Sitting.objects.get()
    assert list(Event.objects.values_list("kind", flat=True)) == ["open"]
    set_clock(after(5))
    assert 'data-question-left="15"' in page_of(tablet, sitting)
    assert 'data-question-left="20"' in page_of(tablet, sitting, 2)  # not been there
    set_clock(after(21))
    shut = page_of(tablet, sitting)
    assert "The time for this question is up." in shut
    assert "data-choices disabled" in shut


def test_it_is_set_when_the_set_is_sent(client_of, teacher: User, school_class, set_clock, school) -> None:
    from tests.assignments.factories import make_question, make_set

    set_clock(NOON)
    question_set = make_set(school, [make_question(school)])
    fields = {"opens_at": "2026-05-14T13:00", "closes_at": "2026-05-15T13:00", "allowance": "5", "feedback": "never"}
    address = reverse("assignments:assign", args=[question_set.pk])
    for typed, kept in (("", None), ("0:45", 45)):
        answer = client_of(teacher).post(address, fields | {"class": school_class.pk, "question_seconds": typed})
        assert answer.status_code == 302
        assert Assignment.objects.latest("pk").question_seconds == kept
