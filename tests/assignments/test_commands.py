"""The commands for checks from outside: a class to try, the history of an assignment, its marks recomputed."""

from __future__ import annotations

import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from accounts.models import SchoolClass, User
from assignments.models import Assignment, Event
from assignments.services import timing
from assignments.services.paper_marks import PaperAnswers, enter_answers
from assignments.timekeeping import UNTIMED
from tests.assignments.factories import NOON, make_assignment, make_sitting

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


def run(name: str, *args: object, **options: object) -> list[dict]:
    out = StringIO()
    call_command(name, *map(str, args), stdout=out, stderr=StringIO(), **options)
    return [json.loads(line) for line in out.getvalue().splitlines()]


@pytest.fixture
def assignment(school_class: SchoolClass, pupil: User) -> Assignment:
    assignment = make_assignment(school_class)
    make_sitting(assignment, pupil, choices="CB")
    return assignment


def test_history_prints_every_event_as_it_is_stored(assignment: Assignment, pupil: User) -> None:
    first, second = run("history", assignment.pk)
    stored = Event.objects.get(pk=Event.objects.order_by("pk").first().pk)
    assert (first["client_id"], first["option"], first["place"]) == (str(stored.client_id), "C", 1)
    assert (second["option"], second["seq"], second["pupil"]) == ("B", 2, pupil.pk)
    assert first["received_at"] == "2026-05-14T12:00:10+00:00"


def test_recompute_prints_the_marks_and_finds_them_alike(assignment: Assignment, pupil: User) -> None:
    (sitting,) = run("recompute", assignment.pk, check=True)
    assert sitting["pupil"] == pupil.pk
    assert [mark["outcome"] for mark in sitting["marks"]] == ["right", "wrong", "unanswered"]


def test_no_clock_runs_for_a_paper_typed_in_whatever_was_done_to_that_of_the_class(
    school_class: SchoolClass, pupil: User, teacher: User
) -> None:
    """Stopped after the pupil had sat it and before the paper was typed in, and once more since; no time limit."""
    assignment = make_assignment(school_class, allowance=UNTIMED, closing_cuts=True)

    def stand(minute: int) -> None:
        for deed, at in ((timing.pause_all, minute), (timing.resume_all, minute + 5)):
            deed(assignment=assignment, by=teacher, at=NOON + timedelta(minutes=at))

    stand(10)
    facts = {"answers": [PaperAnswers(pupil, 1, "CAE")], "sat_at": NOON, "by": teacher}
    enter_answers(assignment=assignment, at=NOON + timedelta(minutes=30), **facts)
    for minute in (None, 40):
        if minute:
            stand(minute)
        (told,) = run("recompute", assignment.pk, check=True)
        assert told["given"] == 0


def test_recompute_fails_where_the_file_tells_something_else(
    assignment: Assignment, monkeypatch: pytest.MonkeyPatch
) -> None:
    from assignments.management.commands import recompute

    def forged(*args, **kwargs):
        for line in real(*args, **kwargs):
            yield line.replace('"B"', '"A"')

    real = recompute.answer_lines
    monkeypatch.setattr(recompute, "answer_lines", forged)
    with pytest.raises(CommandError, match=r"The marks differ: pupil \d+ in the export"):
        run("recompute", assignment.pk, check=True)


@pytest.mark.parametrize("name", ["history", "recompute"])
def test_an_assignment_that_is_not_there_is_said_to_be_so(name: str) -> None:
    with pytest.raises(CommandError, match="There is no assignment 404"):
        run(name, 404)


def test_a_practice_class_can_sign_in_and_start() -> None:
    (how,) = run("practice_class", pupils=2, questions=2, seconds=60)
    assert [len(pupil["pin"]) for pupil in how["pupils"]] == [6, 6]
    client, pupil = Client(), how["pupils"][1]
    fields = {"code": how["class_code"], "name": pupil["name"], "pin": pupil["pin"]}
    assert client.post(how["paths"]["sign_in"], fields).status_code == 302
    first = client.post(how["paths"]["start"])
    assert client.get(first["Location"]).status_code == 200


@pytest.mark.parametrize("wrong", [{"pupils": 0}, {"questions": 0}, {"questions": 101}, {"seconds": 0}])
def test_a_practice_class_of_nothing_is_refused(wrong: dict) -> None:
    with pytest.raises(CommandError):
        run("practice_class", **wrong)
    assert not Assignment.objects.exists()
