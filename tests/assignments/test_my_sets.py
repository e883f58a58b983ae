"""A pupil's sets: open now, coming, done; in words a ten-year-old reads."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from assignments.models import ExtraTime, Feedback
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.factories import make_pupil

pytestmark = pytest.mark.django_db


@pytest.fixture
def said(client_of, pupil: User, set_clock):
    """``said(at)``: the words of each part of the page, by its heading."""

    def read(at: datetime) -> dict[str, str]:
        set_clock(at)
        page = html.fromstring(client_of(pupil).get(reverse("assignments:my_sets")).content.decode())
        parts = page.xpath("//section")
        return {part.xpath("string(h2)"): " ".join(part.text_content().split()) for part in parts}

    return read


def test_nothing_yet(said) -> None:
    assert said(NOON) == {"Open now": "Open now Nothing to do right now."}


def test_coming_then_open_then_closed(said, school_class: SchoolClass) -> None:
    make_assignment(school_class)
    assert "Opens Thu 14 May 2026, 13:00" in said(NOON - timedelta(hours=1))["Coming"]
    now = said(NOON)["Open now"]
    assert "3 questions, 1 minute 30 seconds" in now
    assert "You can start until Fri 15 May 2026, 13:00" in now
    assert "Closed. You did not start this one." in said(NOON + timedelta(days=2))["Done"]


def test_extra_time_is_counted_in(said, school_class: SchoolClass, pupil: User) -> None:
    ExtraTime.objects.create(assignment=make_assignment(school_class), pupil=pupil, percent=50)
    assert "2 minutes 15 seconds" in said(NOON)["Open now"]


def test_while_it_runs_one_can_go_on(said, school_class: SchoolClass, pupil: User) -> None:
    make_sitting(make_assignment(school_class), pupil)
    assert "Go on" in said(NOON + timedelta(seconds=30))["Open now"]
    assert "Finished." in said(NOON + timedelta(seconds=91))["Done"]


@pytest.mark.parametrize(
    ("feedback", "says"),
    [
        (Feedback.AFTER_CLOSE, "Answers come when the set has closed for everybody."),
        (Feedback.NEVER, "Finished."),
        (Feedback.NOW, "See your answers"),
    ],
)
def test_when_answers_come(said, school_class: SchoolClass, pupil: User, feedback: str, says: str) -> None:
    assignment = make_assignment(school_class, feedback=feedback)
    make_sitting(assignment, pupil, finished_at=NOON + timedelta(seconds=50))
    assert says in said(NOON + timedelta(minutes=5))["Done"]


def test_sets_of_a_class_one_has_left_stay_if_one_sat_them(said, school_class: SchoolClass, pupil: User) -> None:
    make_sitting(make_assignment(school_class, title="Sat"), pupil, finished_at=NOON)
    make_assignment(school_class, title="Not sat")
    school_class.enrolments.filter(pupil=pupil).delete()
    assert "Sat" in said(NOON)["Done"]
    assert "Not sat" not in str(said(NOON))


def test_marks_of_others_are_nowhere(said, school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class)
    make_sitting(assignment, make_pupil(school_class.school, "Ann"), choices="CAE")
    assert "Ann" not in str(said(NOON))


def test_the_queries_do_not_grow_with_sets_or_class(
    client_of, school_class: SchoolClass, pupil: User, django_assert_num_queries
) -> None:
    client = client_of(pupil)
    for _ in range(3):
        assignment = make_assignment(school_class)
        for _ in range(3):
            make_sitting(assignment, make_pupil(school_class.school))
        with django_assert_num_queries(7):  # session, person, school, clock, sets, sittings, extra times
            client.get(reverse("assignments:my_sets"))


def test_while_the_last_choice_may_still_be_on_its_way_the_answers_are_seconds_off(
    client_of, school_class: SchoolClass, pupil: User, set_clock
) -> None:
    """Answers at once need no closing time; only what was sent in time is waited for."""
    assignment = make_assignment(school_class, feedback=Feedback.NOW)
    make_sitting(assignment, pupil)
    set_clock(NOON + timedelta(seconds=93))
    client = client_of(pupil)
    for address in (reverse("assignments:my_sets"), reverse("assignments:start", args=[assignment.pk])):
        page = client.get(address).content.decode()
        assert "come in a few seconds" in page
        assert "closed for everybody" not in page
