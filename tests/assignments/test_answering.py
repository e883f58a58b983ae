"""The answer as the page's script sends it: what is said back, and what is refused (R3, R5, R15, K2, K4, K7)."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.models import Event, Feedback, Sitting
from assignments.papers import option_names, places
from assignments.services.sittings import start_sitting
from tests.assignments.factories import NOON, make_assignment
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


@pytest.fixture
def tablet(client_of, pupil: User) -> Client:
    return client_of(pupil)


@pytest.fixture
def sitting(tablet: Client, school_class: SchoolClass, set_clock) -> Sitting:
    """A sitting of the keys C, A, E that was begun on the tablet at noon; it is twenty seconds past now."""
    assignment = make_assignment(school_class)
    set_clock(NOON)
    tablet.post(reverse("assignments:start", args=[assignment.pk]))
    set_clock(NOON + timedelta(seconds=20))
    return Sitting.objects.get()


def name(sitting: Sitting, place: int, letter: str) -> str:
    """The page's name for the option that the pupil sees under ``letter``."""
    return option_names(sitting.pk, places(sitting.paper)[place - 1])["ABCDE".index(letter)]


def send(client: Client, sitting: Sitting, **changed: object):
    fields = {
        "question": 1,
        "kind": "choose",
        "option": name(sitting, 1, "B"),
        "client_id": str(uuid4()),
        "epoch": 1,
        "seq": 1,
    } | changed
    fields = {key: value for key, value in fields.items() if value is not None}
    return client.post(reverse("assignments:answer", args=[sitting.pk]), fields)


def test_r15_it_says_saved_once_the_event_is_stored(tablet: Client, sitting: Sitting) -> None:
    client_id = str(uuid4())
    answer = send(tablet, sitting, client_id=client_id)
    assert answer.status_code == 200
    assert answer.json() == {"saved": True, "client_id": client_id, "late": False, "seconds_left": 70}
    stored = Event.objects.get()
    assert (str(stored.client_id), stored.option) == (client_id, "B")


def test_r3_a_repeat_gets_the_same_bytes_however_late(tablet: Client, sitting: Sitting, set_clock) -> None:
    client_id = str(uuid4())
    first = send(tablet, sitting, client_id=client_id)
    set_clock(NOON + timedelta(hours=3))
    again = send(tablet, sitting, client_id=client_id)
    assert again.content == first.content
    assert Event.objects.count() == 1


def test_r5_the_next_page_shows_what_was_saved(tablet: Client, sitting: Sitting) -> None:
    chosen = name(sitting, 1, "B")
    send(tablet, sitting, option=chosen)
    page = tablet.get(reverse("assignments:sitting", args=[sitting.pk, 1])).content.decode()
    assert f'value="{chosen}" checked' in page
    assert page.count(" checked") == 1


def test_a_late_choice_is_kept_and_answered_so(tablet: Client, sitting: Sitting, set_clock) -> None:
    set_clock(NOON + timedelta(seconds=96))
    answer = send(tablet, sitting)
    assert answer.status_code == 200
    assert answer.json()["late"] is True
    assert Event.objects.get().is_late


def test_k4_right_and_wrong_choices_are_answered_alike(client_of, school_class: SchoolClass, set_clock) -> None:
    """Two pupils who differ in nothing but that one chose the key: status, headers and length are the same."""
    assignment = make_assignment(school_class, shuffle_options=True)
    answers = []
    for letter in "CB":  # the key of question 1 is C
        pupil = make_pupil(school_class.school)
        enrol(pupil, school_class)
        client = client_of(pupil)
        set_clock(NOON)
        client.post(reverse("assignments:start", args=[assignment.pk]))
        set_clock(NOON + timedelta(seconds=20))
        sitting = Sitting.objects.get(pupil=pupil)
        place = places(sitting.paper)[0]
        answers.append(send(client, sitting, option=name(sitting, 1, place.shown(letter)), client_id=str(uuid4())))
    right, wrong = answers
    assert right.status_code == wrong.status_code
    assert len(right.content) == len(wrong.content)
    without = {"X-Request-Id"}
    assert {k: v for k, v in right.items() if k not in without} == {k: v for k, v in wrong.items() if k not in without}


def test_k2_the_letter_of_the_version_is_not_a_name_of_the_option(tablet: Client, sitting: Sitting) -> None:
    for forged in "ABCDE":
        assert send(tablet, sitting, option=forged).status_code == 400
    assert not Event.objects.exists()


def test_k2_the_names_of_one_sitting_mean_nothing_in_another(
    tablet: Client, sitting: Sitting, school_class: SchoolClass
) -> None:
    other = start_sitting(assignment=sitting.assignment, pupil=make_pupil(school_class.school), device="phone", at=NOON)
    answer = send(tablet, sitting, option=name(other, 1, "B"))
    assert answer.status_code == 400
    assert answer.json()["says"] == "This picture does not belong to this question."


UNREADABLE = [
    {"question": 4},
    {"question": 0},
    {"question": "x"},
    {"question": 10**12},
    {"question": None},
    {"option": ""},
    {"option": None},
    {"option": "0" * 16},
    {"option": "a\x00b"},
    {"kind": "cheat"},
    {"kind": "flag"},
    {"client_id": "not-a-name"},
    {"client_id": None},
    {"epoch": -1},
    {"epoch": None},
    {"epoch": 2**31},
    {"seq": 0},
    {"seq": -5},
    {"seq": 2**31},
    {"seq": "1e3"},
]


@pytest.mark.parametrize("changed", UNREADABLE, ids=str)
def test_what_cannot_be_read_is_refused_in_a_sentence_and_changes_nothing(
    tablet: Client, sitting: Sitting, changed: dict
) -> None:
    answer = send(tablet, sitting, **changed)
    assert answer.status_code == 400
    assert answer.json()["saved"] is False
    assert answer.json()["says"].endswith(".")
    assert not Event.objects.exists()


def test_an_option_of_another_question_is_refused(tablet: Client, sitting: Sitting) -> None:
    assert send(tablet, sitting, option=name(sitting, 2, "B")).status_code == 400


def test_what_a_pupil_may_not_set_is_not_read(tablet: Client, sitting: Sitting) -> None:
    send(tablet, sitting, mark="1", is_late="", extra_time="300", received_at="2020-01-01", pupil="99")
    stored = Event.objects.get()
    assert (stored.sitting_id, stored.received_at) == (sitting.pk, NOON + timedelta(seconds=20))


@pytest.mark.parametrize(
    ("changed", "error"),
    [({"epoch": 2}, "other_device"), ({"kind": "lock", "option": ""}, "not_checked")],
)
def test_refusals_name_their_cause_for_the_page(tablet: Client, sitting: Sitting, changed: dict, error: str) -> None:
    answer = send(tablet, sitting, **changed)
    assert answer.status_code == 409
    assert answer.json()["error"] == error


def test_a_taken_place_in_the_order_comes_back_with_a_free_one(tablet: Client, sitting: Sitting) -> None:
    send(tablet, sitting, seq=7)
    answer = send(tablet, sitting, seq=7)
    assert answer.status_code == 409
    assert (answer.json()["error"], answer.json()["next_seq"]) == ("order_taken", 8)


def test_the_older_device_is_told_of_the_other(tablet: Client, client_of, sitting: Sitting, pupil: User) -> None:
    client_of(pupil).post(reverse("assignments:start", args=[sitting.assignment_id]))
    answer = send(tablet, sitting)
    assert answer.status_code == 409
    assert answer.json()["error"] == "other_device"


def test_k7_anothers_sitting_and_none_are_the_same_404(
    client_of, sitting: Sitting, other_pupil: User, foreign_pupil: User
) -> None:
    for stranger in (other_pupil, foreign_pupil):
        client = client_of(stranger)
        theirs = send(client, sitting)
        none = client.post(reverse("assignments:answer", args=[sitting.pk + 1000]), {})
        assert theirs.status_code == none.status_code == 404
    assert not Event.objects.exists()


def test_adults_and_strangers_answer_nothing(client_of, sitting: Sitting, teacher: User) -> None:
    assert send(client_of(teacher), sitting).status_code == 403
    assert send(client_of(None), sitting).status_code == 401
    assert not Event.objects.exists()


def test_without_the_token_of_the_page_nothing_is_kept(sitting: Sitting, pupil: User) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(pupil)
    assert send(client, sitting).status_code == 403
    assert not Event.objects.exists()


def test_a_body_of_ten_megabytes_is_refused(tablet: Client, sitting: Sitting) -> None:
    address = reverse("assignments:answer", args=[sitting.pk])
    body = b"option=" + b"a" * 10_000_000
    assert tablet.post(address, body, content_type="application/x-www-form-urlencoded").status_code == 400
    assert not Event.objects.exists()


def test_reading_the_address_keeps_nothing(tablet: Client, sitting: Sitting) -> None:
    assert tablet.get(reverse("assignments:answer", args=[sitting.pk])).status_code == 405


def test_flags_are_events_too(tablet: Client, sitting: Sitting) -> None:
    assert send(tablet, sitting, kind="flag", option="").json()["saved"]
    assert send(tablet, sitting, kind="unflag", option="", seq=2).json()["saved"]
    assert list(Event.objects.values_list("kind", flat=True)) == ["flag", "unflag"]


def test_a_checked_answer_stays(client_of, school_class: SchoolClass, pupil: User, set_clock) -> None:
    assignment = make_assignment(school_class, feedback=Feedback.NOW)
    set_clock(NOON)
    client = client_of(pupil)
    client.post(reverse("assignments:start", args=[assignment.pk]))
    sitting = Sitting.objects.get()
    send(client, sitting)
    assert send(client, sitting, kind="lock", option="", seq=2).json()["saved"]
    answer = send(client, sitting, seq=3, option=name(sitting, 1, "C"))
    assert (answer.status_code, answer.json()["error"]) == (409, "told")


def test_an_answer_costs_the_same_few_queries_whatever_went_before(
    tablet: Client, sitting: Sitting, django_assert_max_num_queries
) -> None:
    for seq in range(1, 30):
        send(tablet, sitting, seq=seq)
    with django_assert_max_num_queries(10):  # session, person, clock, sitting, begin, lock, repeat, before, insert, end
        assert send(tablet, sitting, seq=30).json()["saved"]


def test_keeping_a_choice_asks_nothing_about_the_question(tablet, sitting):
    """So no time it takes tells a right choice from a wrong one: the same statements, and none of them about keys."""
    statements = set()
    send(tablet, sitting, option="", kind="flag", seq=9)  # from then on the sitting is known
    for seq, letter in enumerate("ABCDE", 1):
        with CaptureQueriesContext(connection) as asked:
            send(tablet, sitting, option=name(sitting, 1, letter), seq=seq)
        texts = [query["sql"] for query in asked.captured_queries]
        assert not any("bank_" in text for text in texts)
        statements.add(tuple(text.split()[0] for text in texts))
    assert len(statements) == 1
