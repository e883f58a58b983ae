"""A form whose token no longer holds: refused with a sentence, and an adult gets back what was typed."""

from __future__ import annotations

import pytest
from django.test import Client

from accounts.models import SchoolClass
from tests.accounts.conftest import PASSWORD, text_of

OURS = {"HTTP_ORIGIN": "http://testserver"}


def strict(user=None):
    """A browser whose forms need their token, as everywhere but in tests."""
    browser = Client(enforce_csrf_checks=True)
    if user is not None:
        browser.force_login(user)
    return browser


def test_it_says_what_to_do(teacher):
    answer = strict(teacher).post("/classes/new/", {"name": "6 Larch"}, **OURS)
    words = text_of(answer)
    assert answer.status_code == 403
    assert "What you sent was not saved" in words
    assert "Open it afresh and send it once more." in words
    assert b'href="/classes/new/"' in answer.content
    assert not SchoolClass.objects.exists()


def test_what_was_typed_comes_back(teacher):
    answer = strict(teacher).post("/classes/new/", {"name": "6 <Larch>", "csrfmiddlewaretoken": "old"}, **OURS)
    assert "6 <Larch>" in text_of(answer)
    assert b"<Larch>" not in answer.content
    assert b">old<" not in answer.content


@pytest.mark.parametrize("origin", ["https://other.example", "http://testserver.other.example", "null", ""])
def test_the_words_of_another_site_are_not_shown_on_ours(teacher, origin):
    answer = strict(teacher).post("/classes/new/", {"name": "Call this number"}, HTTP_ORIGIN=origin)
    assert answer.status_code == 403
    assert b"Call this number" not in answer.content


def test_passwords_do_not_come_back(known_teacher):
    fields = {"current": "my old words", "password": PASSWORD}
    answer = strict(known_teacher).post("/password/", fields, **OURS)
    assert PASSWORD.encode() not in answer.content
    assert b"my old words" not in answer.content


@pytest.mark.parametrize("path", ["/pupil/", "/sign-in/"])
def test_signing_in_can_be_tried_again(db, path):
    answer = strict().post(path, {"name": "Fenna", "pin": "482916", "email": "edda@tarnlow.example"}, **OURS)
    assert answer.status_code == 403
    assert f'href="{path}"'.encode() in answer.content
    for typed in (b"Fenna", b"482916", b"edda@"):
        assert typed not in answer.content


def test_a_pupils_words_are_not_left_on_a_shared_tablet(pupil):
    answer = strict(pupil).post("/sign-out/", {"note": "a secret"}, **OURS)
    assert answer.status_code == 403
    assert b"a secret" not in answer.content


def test_with_the_token_of_the_page_all_is_well(teacher):
    browser = strict(teacher)
    page = browser.get("/classes/new/")
    fields = {"name": "6 Larch", "csrfmiddlewaretoken": str(page.context["csrf_token"])}
    assert browser.post("/classes/new/", fields, **OURS).status_code == 302
