"""What a session survives and what ends it: old cookies are replayed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import Enrolment
from accounts.services import cards, classes, people
from tests.accounts.conftest import PASSWORD, is_signed_in

pytestmark = pytest.mark.each_database

COOKIE = settings.SESSION_COOKIE_NAME


def replay(cookie):
    """A browser that has only this session cookie."""
    browser = Client()
    browser.cookies[COOKIE] = cookie
    return browser


@pytest.fixture
def signed_in(known_teacher):
    browser = Client()
    browser.post("/sign-in/", {"email": known_teacher.email, "password": PASSWORD})
    return browser


@pytest.fixture
def pupil_in(card):
    browser = Client()
    browser.post("/pupil/", card.fields())
    return browser


def test_signing_in_gives_a_new_session_id(known_teacher):
    browser = Client()
    browser.get("/sign-in/")
    session = browser.session
    session["planted"] = "1"
    session.save()
    browser.cookies[COOKIE] = session.session_key
    browser.post("/sign-in/", {"email": known_teacher.email, "password": PASSWORD})
    assert browser.cookies[COOKIE].value != session.session_key
    assert not is_signed_in(replay(session.session_key))


def test_a_pupil_gets_a_new_session_id_too(card):
    browser = Client()
    session = browser.session
    session["planted"] = "1"
    session.save()
    browser.cookies[COOKIE] = session.session_key
    browser.post("/pupil/", card.fields())
    assert browser.cookies[COOKIE].value != session.session_key


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(signed_in):
    cookie = signed_in.cookies[COOKIE]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert cookie["path"] == "/"


@pytest.mark.parametrize(("who", "hours"), [("signed_in", 12), ("pupil_in", 4)])
def test_a_session_lasts_a_working_day_or_a_school_morning(request, who, hours):
    browser = request.getfixturevalue(who)
    [session] = Session.objects.all()
    left = session.expire_date - timezone.now()
    assert timedelta(hours=hours) - timedelta(minutes=1) < left <= timedelta(hours=hours)
    assert is_signed_in(browser)


def test_a_session_ends_by_itself(signed_in, monkeypatch):
    later = timezone.now() + timedelta(hours=12, seconds=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    assert not is_signed_in(signed_in)


def test_signing_out_ends_the_session_for_good(signed_in):
    cookie = signed_in.cookies[COOKIE].value
    signed_in.post("/sign-out/")
    assert not is_signed_in(signed_in)
    assert not is_signed_in(replay(cookie))


def test_disabling_an_adult_ends_all_sessions(signed_in, known_teacher, administrator):
    cookie = signed_in.cookies[COOKIE].value
    people.disable(user=known_teacher, by=administrator)
    assert not is_signed_in(signed_in)
    people.enable(user=known_teacher, by=administrator)
    assert not is_signed_in(replay(cookie))


def test_a_new_password_ends_the_other_sessions(signed_in, known_teacher):
    elsewhere = Client()
    elsewhere.post("/sign-in/", {"email": known_teacher.email, "password": PASSWORD})
    answer = signed_in.post("/password/", {"current": PASSWORD, "password": "nine slow otters drift"})
    assert answer.status_code == 302
    assert is_signed_in(signed_in)
    assert not is_signed_in(elsewhere)


def test_the_session_that_changes_the_password_goes_on_under_a_new_id(signed_in):
    cookie = signed_in.cookies[COOKIE].value
    signed_in.post("/password/", {"current": PASSWORD, "password": "nine slow otters drift"})
    assert signed_in.cookies[COOKIE].value != cookie
    assert not is_signed_in(replay(cookie))


def test_an_invitation_used_ends_the_sessions(signed_in, known_teacher, administrator):
    token = people.invite(user=known_teacher, by=administrator, at=timezone.now())
    assert is_signed_in(signed_in)
    Client().post(reverse("accounts:invitation", args=[token]), {"password": "nine slow otters drift"})
    assert not is_signed_in(signed_in)


def test_a_new_pin_ends_the_pupils_sessions_and_nobody_elses(pupil_in, client_of, card, other_pupil, teacher):
    other = client_of(other_pupil)
    cards.issue_pins(school_class=card.school_class, pupils=[card.pupil], seen=None, by=teacher)
    assert not is_signed_in(pupil_in)
    assert is_signed_in(other)


def test_a_name_or_extra_time_corrected_does_not_disturb_a_pupil_at_work(pupil_in, card, teacher):
    classes.update_pupil(pupil=card.pupil, name="Fenna K", extra_time=25, rest_breaks=False, by=teacher)
    assert is_signed_in(pupil_in)


def test_neither_does_archiving_nor_a_new_code_nor_leaving_the_class(pupil_in, card, teacher):
    """A sitting that runs goes on; only signing in needs the class."""
    classes.renew_code(school_class=card.school_class, by=teacher)
    classes.archive_class(school_class=card.school_class, by=teacher, at=timezone.now())
    Enrolment.objects.all().delete()
    assert is_signed_in(pupil_in)


@pytest.mark.parametrize("cookie", ["", "x", "a" * 32, "a" * 200, "../../etc/passwd", "\x00"])
def test_made_up_cookies_open_nothing(db, cookie):
    assert not is_signed_in(replay(cookie))
