"""Many requests at once, with real threads on a database that really commits (R1, R3, R4, R9)."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import timedelta
from io import StringIO
from threading import Thread
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import call_command

from assignments.errors import AssignmentError, NotOpen, OrderTaken
from assignments.management.commands import recompute
from assignments.mark_book import MarkBook, mark_book
from assignments.models import Assignment, Event, Sitting
from assignments.services.assigning import take_back
from assignments.services.sittings import finish_sitting, record_event, start_sitting
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.at_once import all_at_once
from tests.factories import make_class, make_pupil, make_school

pytestmark = pytest.mark.django_db(transaction=True)
SOON = NOON + timedelta(seconds=10)


@pytest.fixture
def assignment() -> Assignment:
    school = make_school()
    return make_assignment(make_class(school, pupils=(make_pupil(school),)))


@pytest.fixture
def sitting(assignment: Assignment) -> Sitting:
    return make_sitting(assignment, assignment.school_class.enrolments.get().pupil)


def keep(sitting: Sitting, letter: str, **others: Any) -> Callable[[], Event]:
    facts = {"client_id": uuid4(), "seq": None, "epoch": 1, "at": SOON, "kind": "choose", "option": letter}
    question = sitting.paper[0]["question"]
    return lambda: record_event(sitting=sitting, question_id=question, **(facts | others))


def test_r9_twenty_starts_at_once_make_one_sitting(assignment: Assignment) -> None:
    pupil = assignment.school_class.enrolments.get().pupil
    start = {"assignment": assignment, "pupil": pupil, "at": SOON}
    begun = all_at_once(*[lambda: start_sitting(device="tablet", **start)] * 20)
    assert {sitting.pk for sitting in begun} == {Sitting.objects.get().pk}
    assert {sitting.epoch for sitting in begun} == {1}
    assert all(sitting.paper == begun[0].paper for sitting in begun)


def test_r9_twenty_devices_at_once_share_one_sitting_and_one_of_them_may_write(
    assignment: Assignment,
) -> None:
    pupil = assignment.school_class.enrolments.get().pupil
    devices = [f"device {number}" for number in range(20)]
    all_at_once(
        *[
            lambda device=device: start_sitting(assignment=assignment, pupil=pupil, device=device, at=SOON)
            for device in devices
        ]
    )
    sitting = Sitting.objects.get()
    assert sitting.epoch == 20
    assert sitting.device in devices


def test_r9_a_whole_class_starts_at_once(assignment: Assignment) -> None:
    school = assignment.school_class.school
    pupils = [make_pupil(school) for _ in range(20)]
    begun = all_at_once(
        *[
            lambda pupil=pupil: start_sitting(assignment=assignment, pupil=pupil, device="a", at=SOON)
            for pupil in pupils
        ]
    )
    assert {sitting.pupil_id for sitting in begun} == {pupil.pk for pupil in pupils}


def test_r1_choices_saved_at_once_are_all_kept_each_in_a_place_of_its_own(sitting: Sitting) -> None:
    kept = all_at_once(*[keep(sitting, "ABCDE"[number % 5]) for number in range(20)])
    assert {event.pk for event in kept} == set(Event.objects.values_list("pk", flat=True))
    assert sorted(Event.objects.values_list("seq", flat=True)) == list(range(1, 21))


def test_r3_one_choice_sent_twenty_times_at_once_is_kept_once(sitting: Sitting) -> None:
    client_id = uuid4()
    kept = all_at_once(*[keep(sitting, "B", client_id=client_id, seq=4)] * 20)
    assert {event.pk for event in kept} == {Event.objects.get().pk}


def test_r4_of_twenty_that_claim_one_place_in_the_order_one_has_it(sitting: Sitting) -> None:
    kept = all_at_once(*[keep(sitting, "C", seq=4) for _ in range(20)])
    assert sum(isinstance(one, Event) for one in kept) == 1
    assert sum(isinstance(one, OrderTaken) for one in kept) == 19


def test_r8_handing_in_twenty_times_at_once_is_once(sitting: Sitting) -> None:
    moments = [SOON + timedelta(seconds=number) for number in range(20)]
    ended = all_at_once(*[lambda at=at: finish_sitting(sitting=sitting, at=at) for at in moments])
    assert {one.finished_at for one in ended} == {Sitting.objects.get().finished_at}


def test_a_start_and_a_taking_back_at_once_cannot_both_happen(assignment: Assignment) -> None:
    pupil = assignment.school_class.enrolments.get().pupil
    started, taken = all_at_once(
        lambda: start_sitting(assignment=assignment, pupil=pupil, device="a", at=SOON),
        lambda: take_back(assignment=assignment),
    )
    if isinstance(started, Sitting):
        assert isinstance(taken, AssignmentError)
        assert Sitting.objects.filter(pk=started.pk).exists()
    else:
        assert isinstance(started, NotOpen)
        assert not Assignment.objects.exists()


def test_an_answer_that_comes_while_marks_are_recomputed_makes_no_difference(
    sitting: Sitting, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The command reads events and the file one after the other; where the database has one writer, that one waits."""
    keep(sitting, "A")()
    writer = Thread(target=all_at_once, args=[keep(sitting, "B")])

    def later(assignment: Assignment) -> MarkBook:
        writer.start()
        writer.join(timeout=0.5)
        return mark_book(assignment)

    monkeypatch.setattr(recompute, "mark_book", later)
    out = StringIO()
    call_command("recompute", sitting.assignment_id, check=True, stdout=out, stderr=StringIO())
    writer.join(timeout=20)
    assert json.loads(out.getvalue())["marks"][0]["choice"] == "A"
    assert Event.objects.filter(sitting=sitting).count() == 2
