"""The page behind an invitation's link."""

from __future__ import annotations

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client
from django.urls import reverse

from accounts.errors import InvitationSpentError
from accounts.models import Invitation
from accounts.services import people
from tests.accounts.conftest import text_of

PASSWORD = "nine slow otters drift"
SPENT = (
    "This link can no longer be used. It works once, for 24 hours. Ask your school’s administrator for a new one; "
    "the administrator asks whoever runs this server."
)


@pytest.fixture
def token(clock, teacher, administrator):
    return people.invite(user=teacher, by=administrator, at=clock())


@pytest.fixture
def page(token):
    return reverse("accounts:invitation", args=[token])


def test_it_greets_and_says_how_to_sign_in(client, page):
    answer = client.get(page)
    words = text_of(answer)
    assert "Welcome, Edda Marlin" in words
    assert "Set a password for your account at Tarnlow School. You sign in with edda@tarnlow.example ." in words
    assert "no-store" in answer["Cache-Control"]


def test_the_password_is_set_and_opens_the_door(client, page):
    answer = client.post(page, {"password": PASSWORD}, follow=True)
    assert answer.redirect_chain == [("/sign-in/", 302)]
    assert "Your password is set. Sign in with it now." in text_of(answer)
    assert SESSION_KEY not in client.session
    fields = {"email": "edda@tarnlow.example", "password": PASSWORD}
    assert client.post("/sign-in/", fields).status_code == 302


def test_looking_does_not_use_it_up(client, page):
    for _ in range(3):
        assert client.get(page).status_code == 200


def test_it_works_once(client, page, teacher):
    client.post(page, {"password": PASSWORD})
    again = client.post(page, {"password": "someone else's words"})
    assert again.status_code == 410
    assert SPENT in text_of(again)
    teacher.refresh_from_db()
    assert teacher.check_password(PASSWORD)


def test_it_works_for_a_day(client, page, clock):
    clock.forward(hours=23, minutes=59)
    assert client.get(page).status_code == 200
    clock.forward(minutes=1)
    assert client.get(page).status_code == 410
    assert client.post(page, {"password": PASSWORD}).status_code == 410


def test_a_newer_link_replaces_it(client, page, teacher, administrator, clock):
    people.invite(user=teacher, by=administrator, at=clock())
    assert client.get(page).status_code == 410


def test_an_account_that_is_disabled_cannot_use_it(client, page, teacher, administrator):
    people.disable(user=teacher, by=administrator)
    assert client.post(page, {"password": PASSWORD}).status_code == 410


@pytest.mark.parametrize("token", ["x", "a" * 43, "%00", "é", "..", "' or 1=1"])
def test_links_nobody_made(client, db, token):
    answer = client.get(f"/invitation/{token}/")
    assert answer.status_code == 410
    assert SPENT in text_of(answer)


@pytest.mark.parametrize("password", ["", "short", "password1234", "eddamarlin1"])
def test_a_weak_password_is_refused_and_the_link_stays_good(client, page, password):
    assert client.post(page, {"password": password}).status_code == 400
    assert client.get(page).status_code == 200


def test_the_token_is_random_and_only_its_digest_is_kept(token):
    """At least 128 bits, as ASVS 5.0.0 asks in 11.5.1 (from memory): 32 bytes are 256."""
    assert len(token) == 43
    [invitation] = Invitation.objects.values()
    assert token not in map(str, invitation.values())
    assert invitation["token_digest"] == people.digest_of_token(token)


def test_of_two_at_once_one_is_refused(page, token, teacher, clock):
    """Both have found the invitation open; the row's update decides."""
    one = people.open_invitation(token=token, at=clock())
    two = people.open_invitation(token=token, at=clock())
    people.accept_invitation(invitation=one, password=PASSWORD, at=clock())
    with pytest.raises(InvitationSpentError):
        people.accept_invitation(invitation=two, password="someone else's words", at=clock())
    teacher.refresh_from_db()
    assert teacher.check_password(PASSWORD)


def test_it_needs_no_session_and_no_other_site_can_send_it(page):
    browser = Client(enforce_csrf_checks=True)
    assert browser.post(page, {"password": PASSWORD}).status_code == 403
