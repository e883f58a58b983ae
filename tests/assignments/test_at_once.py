"""What is usual is kept by one statement; whatever else it may be, or have become since it was read, is looked at with
care: the short way of ``config.short_way`` gives it over to the whole."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from unittest.mock import Mock
from uuid import uuid4

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.db import connection
from django.http import Http404
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


@pytest.fixture
def with_care(monkeypatch) -> Callable[[], None]:
    """Called, it closes the short way."""

    def close() -> None:
        for view in (views.answer, views.question):
            monkeypatch.setattr(view, "at_once", lambda *_, **__: None)

    return close


def statements(deed: Callable[[], Any]) -> list[str]:
    with CaptureQueriesContext(connection) as asked:
        assert deed().status_code == 200
    return [query["sql"].split()[0] for query in asked.captured_queries]


def once_printed(tablet: Client, address: str) -> list[str]:
    """What a page asks once the browser has the cookie of its form, and the form is printed."""
    for _ in ("cookie", "form"):
        assert tablet.get(address).status_code == 200
    return statements(lambda: tablet.get(address))


def test_the_usual_choice_asks_the_database_one_thing_once_its_sitting_is_known(
    tablet: Client, sitting: Sitting
) -> None:
    assert statements(lambda: send(tablet, sitting)) == ["SELECT", "INSERT"]
    assert statements(lambda: send(tablet, sitting, seq=2)) == ["INSERT"]
    event, place = Event.objects.first(), place_numbered(sitting.paper, 1)
    assert event is not None
    assert (event.question_id, event.option, event.received_at) == (place.question, place.order[1], SOON)


def test_both_ways_keep_the_same_and_say_the_same(tablet: Client, sitting: Sitting, with_care) -> None:
    names = ("kind", "option", "question_id", "epoch", "seq", "received_at", "is_late")
    kept, said = [], []
    for _ in ("at once", "with care"):
        client_id = str(uuid4())
        response = send(tablet, sitting, client_id=client_id)
        said.append(response.content.replace(client_id.encode(), b""))
        kept.append(Event.objects.values_list(*names).get())
        Event.objects.all().delete()
        with_care()
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


@pytest.mark.parametrize("is_known", [False, True], ids=["unknown", "known"])
@pytest.mark.parametrize("unusual", UNUSUAL.values(), ids=UNUSUAL)
def test_what_is_not_usual_is_left_to_the_careful_way(
    tablet: Client, sitting: Sitting, unusual, is_known: bool, monkeypatch
) -> None:
    address = reverse("assignments:sitting", args=[sitting.pk, 1])
    if is_known:
        assert send(tablet, sitting).status_code == 200
        assert once_printed(tablet, address) == ["SELECT"]
    unusual(sitting)
    monkeypatch.setattr(views, "_own", Mock(side_effect=Http404))
    assert send(tablet, sitting, seq=2).status_code in (401, 403, 404)
    assert tablet.get(address).status_code in (302, 403, 404)
    assert Event.objects.count() == is_known


ENDS = {
    "signed out": lambda client: client.session.delete(),
    "past its time": lambda _: Session.objects.update(expire_date=NOON - timedelta(days=3650)),
    "another's": lambda _: Session.objects.update(session_data=SessionStore().encode({"_auth_user_id": "1"})),
}


@pytest.mark.parametrize("end", ENDS.values(), ids=ENDS)
def test_a_session_that_is_over_keeps_and_shows_nothing_from_then_on(tablet: Client, sitting: Sitting, end) -> None:
    address = reverse("assignments:sitting", args=[sitting.pk, 1])
    assert send(tablet, sitting).status_code == 200
    assert once_printed(tablet, address) == ["SELECT"]
    end(tablet)
    assert [send(tablet, sitting, seq=2).status_code, tablet.get(address).status_code] == [401, 302]
    assert Event.objects.count() == 1


def test_another_pupils_sitting_is_not_there(tablet: Client, sitting: Sitting, client_of, other_pupil: User) -> None:
    send(tablet, sitting)
    assert send(client_of(other_pupil), sitting, seq=2).status_code == 404
    assert send(Client(), sitting, seq=3).status_code == 401
    assert Event.objects.count() == 1


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
        at, read = database_now(), at_once.at_work(tablet.session.session_key, sitting.pk)
        assert read is not None
        if seq % 3 == 0 or keep(sitting, read, seq=seq) is None:
            facts = {"kind": "flag", "client_id": uuid4(), "epoch": 1, "seq": seq, "at": at}
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
    tablet: Client, sitting: Sitting, pupil: User, with_care, part: str, seconds: int
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
        with_care()
    assert pages[:3] == pages[3:]
    assert pages[0] != pages[1]


def test_a_page_that_is_filled_in_asks_the_database_one_thing_and_tells_what_is_new(
    tablet: Client, sitting: Sitting, pupil: User
) -> None:
    address = reverse("assignments:sitting", args=[sitting.pk, 1])
    assert once_printed(tablet, address) == ["SELECT"]
    for new in (by_set(title="Renamed"), by_pupil(name="Renata"), by_pupil(rest_breaks=True)):
        new(sitting)
    page = tablet.get(address).content.decode()
    assert all(word in page for word in ("Renamed", "Renata", "Take a break"))
    assert statements(lambda: tablet.get(address)) == ["SELECT"]


def test_a_page_for_another_device_or_with_something_to_say_is_not_filled_in(
    tablet: Client, sitting: Sitting, client_of, pupil: User
) -> None:
    address = reverse("assignments:sitting", args=[sitting.pk, 1])
    assert client_of(pupil).get(address).status_code == 302
    send(tablet, sitting, then="next", question=1, client_id="")
    assert "could not be read" in tablet.get(address).content.decode()
