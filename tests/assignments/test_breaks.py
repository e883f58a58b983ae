"""Rest breaks (R6): for pupils whose access arrangement allows them, the clock stops at their own wish."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.models import Sitting, TimeChange
from assignments.monitor import State, monitor_of
from assignments.queries import as_asked, questions_of
from assignments.results import mark_sittings
from assignments.services import timing
from assignments.services.sittings import start_sitting
from tests.assignments.factories import NOON, make_assignment
from tests.assignments.test_recording import send

pytestmark = pytest.mark.django_db


def after(seconds: float):
    return NOON + timedelta(seconds=seconds)


@pytest.fixture
def sitting(school_class: SchoolClass, pupil: User) -> Sitting:
    pupil.rest_breaks = True
    pupil.save()
    return start_sitting(assignment=make_assignment(school_class), pupil=pupil, device="tablet", at=NOON)


def again(sitting: Sitting) -> Sitting:
    return Sitting.objects.select_related("assignment", "pupil").get(pk=sitting.pk)


def test_the_clock_stops_and_runs_on_when_the_pupil_is_back(sitting: Sitting) -> None:
    timing.take_break(sitting=sitting, at=after(30))
    assert again(sitting).is_stopped(after(300))
    assert again(sitting).seconds_left(after(300)) == 60
    timing.come_back(sitting=sitting, at=after(330))
    assert again(sitting).deadline == after(90 + 300)
    assert list(TimeChange.objects.values_list("kind", "by")) == [
        ("break", sitting.pupil_id),
        ("back", sitting.pupil_id),
    ]


def test_twice_is_once(sitting: Sitting) -> None:
    for seconds in (30, 40):
        timing.take_break(sitting=sitting, at=after(seconds))
    for seconds in (50, 60):
        timing.come_back(sitting=sitting, at=after(seconds))
    assert again(sitting).deadline == after(90 + 20)


def test_after_half_an_hour_the_clock_runs_on_by_itself(sitting: Sitting) -> None:
    timing.take_break(sitting=sitting, at=after(30))
    assert not again(sitting).is_stopped(after(30 + 1800))
    assert again(sitting).deadline == after(90 + 1800)
    assert send(sitting, at=after(90 + 1800 + 6)).is_late


def test_without_the_arrangement_there_is_no_break(sitting: Sitting, pupil: User) -> None:
    User.objects.filter(pk=pupil.pk).update(rest_breaks=False)
    with pytest.raises(timing.TimeError, match="tell your teacher"):
        timing.take_break(sitting=sitting, at=after(30))
    assert again(sitting).deadline == after(90)


def test_the_time_of_a_break_is_not_counted_to_any_question(sitting: Sitting) -> None:
    timing.take_break(sitting=sitting, at=after(10))
    timing.come_back(sitting=sitting, at=after(210))
    send(sitting, at=after(225))
    (row,) = mark_sittings([again(sitting)], map(as_asked, questions_of(sitting.assignment)))
    assert [mark.standing.seconds for mark in row.marks.each] == [25, 0, 0]


class TestThePage:
    """Without script: by the buttons of the plain form, which loses no choice."""

    @pytest.fixture
    def client(self, client_of, pupil: User, set_clock) -> Client:
        set_clock(NOON)
        pupil.rest_breaks = True
        pupil.save()
        return client_of(pupil)

    def test_a_break_from_the_question_and_back(self, client, school_class, pupil: User, set_clock) -> None:
        assignment = make_assignment(school_class)
        start = reverse("assignments:start", args=[assignment.pk])
        question = client.post(start)["Location"]
        page = client.get(question).content.decode()
        assert "Take a break" in page
        set_clock(after(20))
        form = self.fields(page) | {"then": "rest"}
        sitting = Sitting.objects.get()
        gone = client.post(reverse("assignments:answer", args=[sitting.pk]), form)
        assert gone["Location"] == start
        assert sitting.events.filter(kind="choose").count() == 1
        set_clock(after(400))
        assert client.get(question)["Location"] == start
        resting = client.get(start).content.decode()
        assert "You are having a break." in resting
        assert "1 minute 10 seconds left" in resting
        assert monitor_of(assignment, after(400)).rows[0].state is State.BREAK
        back = client.post(start)
        assert client.get(back["Location"]).status_code == 200
        assert again(sitting).deadline == after(90 + 380)

    def test_who_has_none_agreed_sees_no_button_and_is_told(self, client, school_class, pupil: User) -> None:
        User.objects.update(rest_breaks=False)
        assignment = make_assignment(school_class)
        page = client.get(client.post(reverse("assignments:start", args=[assignment.pk]))["Location"])
        assert "Take a break" not in page.content.decode()
        sitting = Sitting.objects.get()
        fields = self.fields(page.content.decode()) | {"then": "rest"}
        answer = client.post(reverse("assignments:answer", args=[sitting.pk]), fields, follow=True)
        assert "Rest breaks are not set for you." in answer.content.decode()
        assert not TimeChange.objects.exists()

    def fields(self, page: str) -> dict[str, str]:
        value = lambda name: re.search(rf'name="{name}" value="([^"]*)"', page)[1]  # noqa: E731
        return {name: value(name) for name in ("question", "epoch", "client_id", "had", "option")}
