"""An adult changes the password."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.accounts.conftest import PASSWORD, text_of

NEW = "nine slow otters drift"
PAGE = "/password/"


@pytest.fixture
def browser(client_of, known_teacher):
    return client_of(known_teacher)


def has_password(user, password):
    user.refresh_from_db()
    return user.check_password(password)


def test_the_password_is_changed(browser, known_teacher):
    answer = browser.post(PAGE, {"current": PASSWORD, "password": NEW})
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert has_password(known_teacher, NEW)
    assert not has_password(known_teacher, PASSWORD)


def test_the_page_says_what_happens(browser):
    words = text_of(browser.get(PAGE))
    assert "At least 10 characters; 15 are better. Several words in a row make a good one." in words
    assert "Anywhere else you are signed in, you will be signed out." in words


def test_the_next_page_says_that_it_is_done(browser):
    browser.post(PAGE, {"current": PASSWORD, "password": NEW})
    page = browser.get(reverse("accounts:classes"))
    assert "Your password is changed. Anywhere else you were signed in, you are signed out." in text_of(page)


def test_whoever_does_not_know_the_old_one_changes_nothing(browser, known_teacher):
    answer = browser.post(PAGE, {"current": "wrong", "password": NEW})
    assert answer.status_code == 400
    assert "This is not your current password." in text_of(answer)
    assert 'id="id_current_error"' in answer.content.decode()
    assert has_password(known_teacher, PASSWORD)


def test_guessing_the_old_one_is_slowed_down(clock, browser, known_teacher):
    for _ in range(10):
        assert browser.post(PAGE, {"current": "wrong", "password": NEW}).status_code == 400
    answer = browser.post(PAGE, {"current": PASSWORD, "password": NEW})
    assert answer.status_code == 429
    assert has_password(known_teacher, PASSWORD)


@pytest.mark.parametrize(
    ("password", "sentence"),
    [
        ("short one", "Write at least 10 characters."),
        ("password1234", "Many people have this password, so it is guessed first. Write another."),
        ("eddamarlin", "This is too much like the name of the account."),
        ("edda@tarnlow.example", "This is too much like the email of the account."),
        ("", "Fill in “New password”."),
        ("x" * 257, "at most 256 characters; these are 257"),
        ("nine slow\x00otters", "This holds a character that no text has (U+0000)."),
    ],
)
def test_a_weak_password_is_refused_with_the_reason(browser, known_teacher, password, sentence):
    answer = browser.post(PAGE, {"current": PASSWORD, "password": password})
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert has_password(known_teacher, PASSWORD)


@pytest.mark.parametrize(
    "password",
    [
        "ten chars!",
        "0123456789 paper",
        " nine slow otters ",
        "折り紙を折って切る練習",
        "x y " * 64,
        "zzzzzzzzzzzzzzzzqqqqqqqq",
    ],
)
def test_any_long_password_of_any_characters_is_taken(browser, known_teacher, password):
    """NIST SP 800-63B, 5.1.1.2: no rules of composition, at least 64 characters, every printing character."""
    assert browser.post(PAGE, {"current": PASSWORD, "password": password}).status_code == 302
    assert has_password(known_teacher, password)


def test_passwords_are_never_written_into_the_page(browser):
    page = browser.post(PAGE, {"current": "my old words", "password": "short"}).content.decode()
    assert "my old words" not in page
    assert 'value="short"' not in page


def test_only_adults_have_a_password(client_of, pupil, client):
    assert client_of(pupil).get(PAGE).status_code == 403
    assert client.get(PAGE)["Location"] == "/sign-in/?next=/password/"


def test_a_new_password_is_marked_as_one_for_password_managers(browser):
    page = browser.get(PAGE).content.decode()
    assert page.count('autocomplete="new-password"') == 1
    assert page.count('autocomplete="current-password"') == 1
