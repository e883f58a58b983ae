"""What is usual is kept by two statements; whatever else it may be, or become between them, is looked at with care."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.models import Assignment, Event, Feedback, Sitting
from assignments.papers import option_names, place_numbered
from assignments.services import at_once
from assignments.services.clock import database_now
from assignments.services.sittings import record_event
from assignments.timekeeping import UNTIMED
from assignments.views import sitting as views
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.at_once import all_at_once

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
SOON = NOON + timedelta(seconds=20)


@pytest.fixture
def tablet(client_of, pupil: User) -> Client:
    return client_of(pupil)


@pytest.fixture
def sitting(tablet: Client, school_class: SchoolClass, set_clock) -> Sitting:
    assignment = make_assignment(school_class, shuffle_options=True)
    set_clock(NOON)
    tablet.post(reverse("assignments:start", args=[assignment.pk]))
    set_clock(SOON)
    return Sitting.objects.get()


def send(client: Client, sitting: Sitting, **changed: Any):
    option = option_names(sitting.pk, place_numbered(sitting.paper, 1))[1]
    sent = {"question": 1, "kind": "choose", "option": option, "client_id": str(uuid4()), "epoch": 1, "seq": 1}
    return client.post(reverse("assignments:answer", args=[sitting.pk]), sent | changed)


def test_the_usual_choice_asks_the_database_two_things(tablet: Client, sitting: Sitting) -> None:
    with CaptureQueriesContext(connection) as asked:
        assert send(tablet, sitting).json()["saved"]
    assert [query["sql"].split()[0] for query in asked.captured_queries] == ["SELECT", "INSERT"]
    event, place = Event.objects.get(), place_numbered(sitting.paper, 1)
    assert (event.question_id, event.option, event.received_at) == (place.question, place.order[1], SOON)


def test_both_ways_keep_the_same_and_say_the_same(tablet: Client, sitting: Sitting, monkeypatch) -> None:
    names = ("kind", "option", "question_id", "epoch", "seq", "received_at", "is_late")
    kept, said = [], []
    for _ in ("at once", "with care"):
        client_id = str(uuid4())
        response = send(tablet, sitting, client_id=client_id)
        said.append((response.content.replace(client_id.encode(), b""), response.headers["Vary"]))
        kept.append(Event.objects.values_list(*names).get())
        Event.objects.all().delete()
        monkeypatch.setattr(views, "_keep_at_once", lambda *_: None)
    assert said[0] == said[1]
    assert kept[0] == kept[1]


def by_set(**facts: Any) -> Callable[[Sitting], None]:
    return lambda sitting: Assignment.objects.filter(pk=sitting.assignment_id).update(**facts) and None


def by_sitting(**facts: Any) -> Callable[[Sitting], None]:
    return lambda sitting: Sitting.objects.filter(pk=sitting.pk).update(**facts) and None


def by_pupil(**facts: Any) -> Callable[[Sitting], None]:
    return lambda sitting: User.objects.filter(pk=sitting.pupil_id).update(**facts) and None


UNUSUAL = {
    "feedback after each": by_set(feedback=Feedback.NOW),
    "limits for questions": by_set(question_seconds=60),
    "cut by the closing time": by_set(closing_cuts=True, opens_at=NOON - timedelta(days=1), closes_at=NOON),
    "handed in": by_sitting(finished_at=SOON),
    "stopped": by_sitting(stopped_at=NOON, stopped_until=NOON + timedelta(hours=1)),
    "on paper": by_sitting(entered_at=NOON),
    "over": by_sitting(allowance=19),
    "ended by the teacher": by_sitting(given=-timedelta(seconds=80)),
    "another person": by_pupil(role="teacher", email="a@example.org"),
    "no longer there": by_pupil(is_active=False),
    "a new PIN": by_pupil(password="!"),
}


@pytest.mark.parametrize("unusual", UNUSUAL.values(), ids=UNUSUAL)
def test_what_is_not_usual_is_left_to_the_careful_way(tablet: Client, sitting: Sitting, unusual, monkeypatch) -> None:
    unusual(sitting)
    asked = []
    monkeypatch.setattr(views, "_keep_with_care", lambda *_: asked.append(1) or views.HttpResponse(status=418))
    assert send(tablet, sitting).status_code == 418
    assert not Event.objects.exists()


def test_another_pupils_sitting_and_a_session_that_is_over_are_left_to_the_careful_way(
    tablet: Client, sitting: Sitting, client_of, other_pupil: User
) -> None:
    assert send(client_of(other_pupil), sitting).status_code == 404
    assert send(Client(), sitting).status_code == 401
    tablet.session.delete()
    assert send(tablet, sitting).status_code == 401
    assert not Event.objects.exists()


@pytest.mark.parametrize(
    "between",
    [
        by_sitting(finished_at=SOON),
        by_sitting(stopped_at=SOON),
        by_sitting(given=-timedelta(seconds=80)),
        by_sitting(epoch=2),
        lambda sitting: record_event(
            sitting=sitting,
            question_id=sitting.paper[0]["question"],
            kind="flag",
            client_id=uuid4(),
            epoch=1,
            seq=5,
            at=SOON + timedelta(seconds=1),
        ),
    ],
    ids=["handed in", "stopped", "ended", "taken over", "a later event"],
)
def test_nothing_is_kept_if_something_came_between_reading_and_keeping(
    tablet: Client, sitting: Sitting, between
) -> None:
    read = at_once.at_work(tablet.session.session_key, sitting.pk)
    assert read is not None
    between(sitting)
    before = Event.objects.count()
    assert keep(sitting, read, seq=1) is None
    assert Event.objects.count() == before


def keep(sitting: Sitting, read: at_once.AtWork, **facts: Any) -> datetime | None:
    place = place_numbered(sitting.paper, 1)
    facts = {"kind": "choose", "option": "B", "client_id": uuid4()} | facts
    return at_once.keep_at_once(read, place=place, **facts)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("same", [{"seq": 3}, {"client_id": uuid4()}], ids=["place in the order", "choice"])
def test_of_twenty_at_once_with_the_same_place_or_name_one_is_kept(tablet: Client, sitting: Sitting, same) -> None:
    read = at_once.at_work(tablet.session.session_key, sitting.pk)
    assert read is not None
    kept = all_at_once(*[lambda n=n: keep(sitting, read, **({"seq": n + 1} | same)) for n in range(20)])
    assert sum(isinstance(one, datetime) for one in kept) == 1
    assert kept.count(None) == 19
    assert Event.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_r7_events_at_once_by_either_way_have_times_in_the_order_in_which_they_are_stored(
    client_of, school_class: SchoolClass, pupil: User
) -> None:
    """By the real clock: what one request waits for must not put its event before one that is stored already."""
    tablet, now = client_of(pupil), database_now()
    assignment = make_assignment(school_class, opens_at=now - timedelta(minutes=1), allowance=600)
    sitting = make_sitting(assignment, pupil, started_at=now)

    def one(seq: int) -> None:
        read = at_once.at_work(tablet.session.session_key, sitting.pk)
        assert read is not None
        if seq % 3 == 0 or keep(sitting, read, seq=seq) is None:
            facts = {"kind": "flag", "client_id": uuid4(), "epoch": 1, "seq": seq, "at": read.at}
            record_event(sitting=sitting, question_id=sitting.paper[0]["question"], **facts)

    for start in range(1, 80, 8):
        assert all_at_once(*[lambda seq=seq: one(seq) for seq in range(start, start + 8)]) == [None] * 8
    times = list(Event.objects.order_by("pk").values_list("received_at", flat=True))
    assert len(times) == 80
    assert times == sorted(times)


def own_words(page: str) -> str:
    """The page without what differs each time it is asked for."""
    return re.sub(r'[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|(?<=value=")\w{64}|(?<=: ")\w{64}', "", page)


@pytest.mark.parametrize("part", ["", "question"])
@pytest.mark.parametrize("seconds", [90, UNTIMED])
def test_the_filled_in_page_is_the_page(
    tablet: Client, sitting: Sitting, pupil: User, monkeypatch, part: str, seconds: int
) -> None:
    """Byte for byte what its templates make of the same sitting, with every kind of doing in it."""
    name = option_names(sitting.pk, place_numbered(sitting.paper, 1))
    send(tablet, sitting, seq=1, option=name[2])
    send(tablet, sitting, seq=2, kind="flag", option="")
    send(tablet, sitting, seq=3, kind="strike", option=name[4])
    send(tablet, sitting, seq=4, kind="flag", option="", question=2)
    Sitting.objects.update(allowance=seconds)
    Assignment.objects.update(allowance=seconds, title="Folds & <b>holes</b>")
    User.objects.filter(pk=pupil.pk).update(name="Ada <i>&</i>", rest_breaks=True)
    pages = []
    for _ in ("filled in", "with care"):
        for place in (1, 2, 3):
            address = reverse("assignments:sitting", args=[sitting.pk, place])
            response = tablet.get(address, headers={"X-Part": part})
            pages.append((own_words(response.content.decode()), response.headers["Vary"]))
        monkeypatch.setattr(views, "_show_at_once", lambda *_: None)
    assert pages[:3] == pages[3:]
    assert pages[0] != pages[1]


def test_a_page_that_is_filled_in_asks_the_database_two_things_once_it_is_printed(
    tablet: Client, sitting: Sitting
) -> None:
    address = reverse("assignments:sitting", args=[sitting.pk, 1])
    assert tablet.get(address).status_code == 200
    with CaptureQueriesContext(connection) as asked:
        assert tablet.get(address).status_code == 200
    assert len(asked) == 2


def test_a_page_for_another_device_or_with_something_to_say_is_not_filled_in(
    tablet: Client, sitting: Sitting, client_of, pupil: User
) -> None:
    address = reverse("assignments:sitting", args=[sitting.pk, 1])
    assert client_of(pupil).get(address).status_code == 302
    send(tablet, sitting, then="next", question=1, client_id="")
    assert "could not be read" in tablet.get(address).content.decode()
