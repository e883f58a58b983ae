"""What the server's log may not hold: no name, PIN, password, address or token, whatever goes wrong."""

from __future__ import annotations

import logging

import pytest
from django.urls import reverse

from accounts.services import people
from tests.accounts.conftest import PASSWORD, give_pin, text_of
from tests.factories import enrol, make_pupil

CANARIES = ["Quillan Canary", "quillan canary", "736251", "canary-password-words", "canary@nest.example", "\n\r"]


@pytest.fixture
def said(caplog):
    """All that was logged, at every level, with its arguments filled in."""
    caplog.set_level(logging.DEBUG)
    return lambda: "\n".join(
        f"{record.name} {record.getMessage()} {record.exc_text or ''}" for record in caplog.records
    )


@pytest.fixture
def canary(school, school_class):
    pupil = make_pupil(school, "Quillan Canary")
    enrol(pupil, school_class)
    give_pin(pupil, "736251")
    return pupil


def clean(log):
    return not [word for word in CANARIES if word in log]


def test_pupils_signing_in(client, canary, school_class, said, clock):
    right = {"code": school_class.code, "name": "Quillan Canary", "pin": "736251"}
    client.post("/pupil/", right)
    for change in ({"pin": "000000"}, {"code": "XXXX-9999"}, {"name": "Quillan Canary\n\r2026 INFO forged"}):
        client.post("/pupil/", right | change)
    for _ in range(7):
        client.post("/pupil/", right | {"pin": "000000"})
    log = said()
    assert clean(log)
    assert school_class.code not in log
    assert f"card of pupil {canary.pk} accepted, class {school_class.pk}" in log
    assert f"sign-in refused: user {canary.pk}, class {school_class.pk}" in log
    assert f"sign-in locked: user {canary.pk}, class {school_class.pk}" in log
    assert "sign-in refused: no such class code" in log
    assert "forged" not in log


def test_adults_signing_in(client, teacher, said):
    teacher.email = "canary@nest.example"
    teacher.set_password("canary-password-words")
    teacher.save()
    for password in ("canary-password-words", "canary-password-words!"):
        client.post("/sign-in/", {"email": "canary@nest.example", "password": password})
    client.post("/sign-in/", {"email": "other-canary@nest.example", "password": "canary-password-words"})
    assert clean(said())
    assert f"password of adult {teacher.pk} accepted" in said()


def test_pupils_added_corrected_locked_and_removed(client_of, teacher, school_class, said):
    browser = client_of(teacher)
    add = reverse("accounts:pupils_import", args=[school_class.pk])
    for _ in range(2):
        browser.post(add, {"text": 'Quillan Canary,25\n"bad', "add": "1", "line": ["1"]})
    pupil = school_class.enrolments.get().pupil
    one = reverse("accounts:pupil_new", args=[school_class.pk])
    assert browser.post(one, {"name": "Quillan Canary", "extra_time": "0"}).status_code == 400
    browser.post(reverse("accounts:pupil_edit", args=[pupil.pk]), {"name": "Quillan Canary", "extra_time": "50"})
    browser.post(reverse("accounts:lift_lock", args=[pupil.pk]))
    browser.post(reverse("accounts:pupil_remove", args=[school_class.pk, pupil.pk]))
    assert clean(said())
    assert f"1 pupils added to class {school_class.pk}" in said()
    assert f"pupil {pupil.pk} removed from class {school_class.pk} by {teacher.pk}" in said()


def test_cards_made(client_of, teacher, canary, school_class, said):
    browser = client_of(teacher)
    page = reverse("accounts:cards", args=[school_class.pk])
    seen = browser.get(page).context["seen"]
    words = text_of(browser.post(page, {"seen": seen, "pupil": [canary.pk]}))
    pin = words.partition("PIN ")[2][:7]
    assert pin not in said()
    assert pin.replace(" ", "") not in said()
    assert clean(said())
    assert f"1 PINs made for class {school_class.pk} by {teacher.pk}" in said()


def test_staff_invited_disabled_and_passwords_set(client, client_of, administrator, said):
    browser = client_of(administrator)
    fields = {"name": "Quillan Canary", "email": "canary@nest.example", "role": "teacher"}
    link = browser.post("/staff/new/", fields).context["link"]
    browser.post("/staff/new/", fields)
    token = link.rstrip("/").rpartition("/")[2]
    client.post(reverse("accounts:invitation", args=[token]), {"password": "canary-password-words"})
    client.get(reverse("accounts:invitation", args=[token]))
    person = people.User.objects.get(email="canary@nest.example")
    browser.post(reverse("accounts:staff_disable", args=[person.pk]))
    assert clean(said())
    assert token not in said()
    assert f"account {person.pk} opened as teacher" in said()
    assert f"password of account {person.pk} set" in said()
    assert f"account {person.pk} disabled by {administrator.pk}" in said()


def test_a_password_changed(client_of, known_teacher, said):
    browser = client_of(known_teacher)
    for current in ("canary-password-words", PASSWORD):
        browser.post("/password/", {"current": current, "password": "canary-password-words"})
    assert clean(said())
    assert PASSWORD not in said()
