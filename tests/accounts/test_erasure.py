"""Erasing a pupil: all of it, at once, and then the name is nowhere."""

from __future__ import annotations

import json
import logging
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts import holdings
from accounts.errors import NotAllowedError
from accounts.models import Enrolment, Role, SignInFailure, User
from accounts.services.erasure import erase_pupil
from accounts.trail import Deed, Entry
from assignments.models import Event, ExtraTime, PrintedFile, PrintOrder, Sitting
from tests.accounts.conftest import PIN, give_pin, text_of
from tests.assignments.factories import make_assignment, make_sitting
from tests.at_once import all_at_once
from tests.factories import enrol, make_adult, make_pupil

pytestmark = pytest.mark.each_database

CANARY = "Zyxwanderine Ö"


@pytest.fixture
def canary(school, school_class):
    pupil = make_pupil(school, CANARY)
    give_pin(pupil)
    enrol(pupil, school_class)
    return pupil


@pytest.fixture
def sitting(school_class, canary, teacher):
    now = timezone.now()
    assignment = make_assignment(school_class, opens_at=now - timedelta(hours=1), allowance=3600)
    assignment.extra_times.create(pupil=canary, percent=30)
    order = PrintOrder.objects.create(
        question_set=assignment.question_set,
        assignment=assignment,
        asked_by=teacher,
        asked_at=now,
        choices={},
        wanted=1,
    )
    PrintedFile.objects.create(order=order, place=1, title="Answer sheets", pages=1, pdf=CANARY.encode())
    return make_sitting(assignment, canary, started_at=now - timedelta(minutes=1), choices="CA")


def page(pupil):
    return reverse("accounts:pupil_erase", args=[pupil.pk])


def spellings() -> list[str]:
    """The canary as text and as JSON escapes it."""
    return [CANARY, CANARY.casefold(), json.dumps(CANARY)[1:-1], "Zyxwanderine", "zyxwanderine"]


def rows_with_canary() -> list[str]:
    """Every column of every table, read as text, in which the name stands; sessions are unpacked as well."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'SELECT * FROM "{table}"')
            columns = [column[0] for column in cursor.description]
            for row in cursor.fetchall():
                found += [
                    f"{table}.{name}"
                    for name, value in zip(columns, row, strict=True)
                    if any(word in str(value) for word in spellings())
                ]
    for session in _sessions():
        if any(word in json.dumps(session, ensure_ascii=False) for word in spellings()):
            found.append("a session")
    return found


def _sessions() -> list[dict]:
    return [session.get_decoded() for session in Session.objects.all()]


def files_with_canary() -> list[str]:
    """Files below the data folder, the database's own among them, in which the name stands."""
    words = [word.encode() for word in spellings()]
    files = (path for path in Path(settings.DATA_DIR).rglob("*") if path.is_file())
    return [str(path) for path in files if any(word in path.read_bytes() for word in words)]


# --- the deed -----------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_after_erasure_the_name_is_in_no_table_file_cache_or_log(
    client_of, administrator, teacher, canary, sitting, school_class, caplog
):
    """Everything that a pupil and the adults around do first; then the scan finds it, then no more."""
    caplog.set_level(logging.DEBUG)
    client = Client()
    client.post("/pupil/", {"code": school_class.code, "name": CANARY, "pin": "000000"})
    client.post("/pupil/", {"code": school_class.code, "name": CANARY, "pin": PIN})
    client.get("/my/")
    adult = client_of(teacher)
    fields = {"name": CANARY, "extra_time": "25", "own_extra_time": ""}
    adult.get(reverse("assignments:result_pupil", args=[sitting.assignment_id, canary.pk]))
    list(adult.get(reverse("assignments:export_answers")).streaming_content)
    adult.post(reverse("accounts:pupil_edit", args=[canary.pk]), fields)  # its message waits in the session
    chief = client_of(administrator)
    chief.get(reverse("accounts:pupil_held", args=[canary.pk]))
    chief.get(reverse("accounts:pupil_held_json", args=[canary.pk]))
    assert {"accounts_user.name", "accounts_enrolment.folded_name", "assignments_printedfile.pdf", "a session"} <= set(
        rows_with_canary()
    )
    if connection.vendor == "sqlite":
        assert files_with_canary() != []

    answer = chief.post(page(canary), {"name": CANARY}, follow=True)

    assert "The pupil and everything kept about them are erased." in text_of(answer)
    assert rows_with_canary() == []
    assert files_with_canary() == []
    assert not any(word in str(vars(cache).get("_cache", "")) for word in spellings())
    assert not any(word in caplog.text for word in spellings())


def test_every_row_about_the_pupil_goes_and_no_other(administrator, canary, sitting, pupil):
    kept = make_sitting(sitting.assignment, pupil, started_at=timezone.now(), choices="CCC")
    SignInFailure.objects.create(user=canary, who="x", at=timezone.now())
    erase_pupil(pupil=canary, by=administrator, at=timezone.now())
    assert list(Sitting.objects.all()) == [kept]
    assert Event.objects.count() == 3
    assert list(Enrolment.objects.values_list("pupil", flat=True)) == [pupil.pk]
    assert not ExtraTime.objects.exists()
    assert not PrintOrder.objects.exists()
    assert not SignInFailure.objects.exists()
    assert set(User.objects.pupils()) == {pupil}


def test_the_trail_keeps_the_deed_without_the_name(administrator, canary):
    number = canary.pk
    erase_pupil(pupil=canary, by=administrator, at=timezone.now())
    entry = Entry.objects.get(deed=Deed.ERASED)
    assert (entry.by, entry.about) == (administrator, {"pupil": number})


def test_the_page_counts_among_what_will_go_nothing_that_stays(client_of, administrator, canary):
    """The entries of the trail stay, and call the pupil by number."""
    counts = dict(client_of(administrator).get(page(canary)).context["counts"])
    assert "Classes" in counts
    trail = Entry.objects.filter(about__pupil=canary.pk)
    before = trail.count()
    erase_pupil(pupil=canary, by=administrator, at=timezone.now())
    assert trail.count() == before + 1
    assert "Who saw, changed or took away what" not in counts


def test_a_device_that_is_signed_in_is_signed_out(client_of, administrator, canary):
    device = client_of(canary)
    assert device.get("/my/").status_code == 200
    erase_pupil(pupil=canary, by=administrator, at=timezone.now())
    assert device.get("/my/").status_code == 302


@pytest.fixture
def foreign_administrator(other_school):
    return make_adult(other_school, Role.ADMINISTRATOR)


@pytest.mark.parametrize("who", ["teacher", "head", "stranger", "pupil", "foreign_administrator"])
def test_only_the_schools_administrator_may(request, canary, who):
    by = request.getfixturevalue(who)
    with pytest.raises(NotAllowedError):
        erase_pupil(pupil=canary, by=by, at=timezone.now())
    assert User.objects.filter(pk=canary.pk).exists()


def test_an_adult_cannot_be_erased(administrator, teacher):
    with pytest.raises(NotAllowedError):
        erase_pupil(pupil=teacher, by=administrator, at=timezone.now())


def test_if_one_room_cannot_let_go_none_does(administrator, canary, sitting, monkeypatch):
    def fail(pupil):
        raise RuntimeError("the attic is locked")

    monkeypatch.setattr(holdings, "_holdings", {"attic": holdings.Holding(list, fail), **holdings._holdings})
    with pytest.raises(RuntimeError):
        erase_pupil(pupil=canary, by=administrator, at=timezone.now())
    assert User.objects.filter(pk=canary.pk).exists()
    assert Event.objects.count() == 2
    assert not Entry.objects.filter(deed=Deed.ERASED).exists()


@pytest.mark.django_db(transaction=True)
def test_sent_twice_at_once_it_happens_once(administrator, canary):
    now = timezone.now()
    erased = all_at_once(*[lambda: erase_pupil(pupil=User.objects.get(pk=canary.pk), by=administrator, at=now)] * 2)
    assert all(one is None or isinstance(one, User.DoesNotExist) for one in erased)
    assert Entry.objects.filter(deed=Deed.ERASED).count() == 1


# --- the page -----------------------------------------------------------------------------------------------------


def test_the_page_counts_what_will_go_first(client_of, administrator, canary, sitting):
    answer = client_of(administrator).get(page(canary))
    counts = dict(answer.context["counts"])
    assert counts["Sittings"] == 1
    assert counts["Answers, and marks to look again"] == 2
    assert "It cannot be undone" in text_of(answer)
    assert User.objects.filter(pk=canary.pk).exists()


@pytest.mark.parametrize("typed", [CANARY, CANARY.upper(), f"  {CANARY.replace(' ', '   ')} "])
def test_the_name_typed_in_any_case_confirms(client_of, administrator, canary, typed):
    answer = client_of(administrator).post(page(canary), {"name": typed})
    assert answer.status_code == 302
    assert not User.objects.filter(pk=canary.pk).exists()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Write the pupil’s name."),
        ("yes", "This is not the pupil’s name. Nothing was erased."),
        (CANARY[:-1], "This is not the pupil’s name. Nothing was erased."),
        ("a\x00", "This holds a character that no text has"),
        ("x" * 300, "at most 200 characters"),
    ],
)
def test_anything_else_erases_nothing(client_of, administrator, canary, typed, sentence):
    answer = client_of(administrator).post(page(canary), {"name": typed})
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert User.objects.filter(pk=canary.pk).exists()


def test_statistics_afterwards_count_the_rest_alone(client_of, administrator, canary, sitting, pupil):
    """Nothing is stored of statistics: the table of the class is worked out from the sittings there are."""
    make_sitting(sitting.assignment, pupil, started_at=timezone.now() - timedelta(minutes=1), choices="CCC")
    client = client_of(administrator)
    table = reverse("assignments:result", args=[sitting.assignment_id])
    assert len(client.get(table).context["rows"]) == 2
    erase_pupil(pupil=canary, by=administrator, at=timezone.now())
    answer = client.get(table)
    assert len(answer.context["rows"]) == 1
    assert CANARY not in text_of(answer)
