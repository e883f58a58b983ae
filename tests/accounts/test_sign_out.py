"""Signing out: by POST, and the browser is told to forget."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests.accounts.conftest import is_signed_in

SIGN_OUT = "/sign-out/"


def test_a_pupil_goes_to_the_pupils_page_and_leaves_nothing_behind(client_of, pupil):
    browser = client_of(pupil)
    answer = browser.post(SIGN_OUT)
    assert (answer.status_code, answer["Location"]) == (302, "/pupil/")
    assert answer["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    assert not is_signed_in(browser)


@pytest.mark.parametrize("who", ["teacher", "head", "administrator"])
def test_an_adult_goes_to_the_adults_page_and_keeps_the_look_chosen(request, client_of, who):
    answer = client_of(request.getfixturevalue(who)).post(SIGN_OUT)
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/")
    assert answer["Clear-Site-Data"] == '"cache", "cookies"'


def test_the_cookie_is_taken_back(client_of, teacher):
    cookie = client_of(teacher).post(SIGN_OUT).cookies[settings.SESSION_COOKIE_NAME]
    assert cookie.value == ""
    assert cookie["max-age"] == 0


def test_it_takes_a_post(client_of, teacher):
    browser = client_of(teacher)
    assert browser.get(SIGN_OUT).status_code == 405
    assert is_signed_in(browser)


def test_another_site_cannot_sign_anyone_out(teacher):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(teacher)
    assert browser.post(SIGN_OUT).status_code == 403
    assert is_signed_in(browser)


def test_nobody_may_sign_out_twice(client, db):
    answer = client.post(SIGN_OUT)
    assert (answer.status_code, answer["Location"]) == (302, "/pupil/")


@pytest.mark.parametrize("who", ["teacher", "administrator"])
def test_every_page_has_the_way_out(request, client_of, who):
    page = client_of(request.getfixturevalue(who)).get(reverse("accounts:classes")).content.decode()
    assert f'action="{SIGN_OUT}"' in page
