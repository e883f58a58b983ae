"""What is kept about people, told to adults and to pupils."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from accounts.models import User
from tests.accounts.conftest import text_of

ADULTS, PUPILS = "/privacy/", "/privacy/pupils/"


@pytest.mark.parametrize("path", [ADULTS, PUPILS])
@pytest.mark.parametrize("who", [None, "pupil", "teacher", "head", "administrator"])
def test_everyone_may_read_both(request, client_of, db, path, who):
    user = request.getfixturevalue(who) if who else None
    assert client_of(user).get(path).status_code == 200


PAGES = ["accounts:pupil_sign_in", "accounts:sign_in", "accounts:classes", "accounts:password", "accounts:privacy"]


@pytest.mark.parametrize("name", PAGES)
def test_both_are_linked_from_every_page(client_of, teacher, name):
    page = client_of(teacher).get(reverse(name)).content.decode()
    assert f'href="{ADULTS}"' in page
    assert f'href="{PUPILS}"' in page


def test_the_page_for_adults_names_all_that_is_kept_of_a_pupil(client, db):
    """Every column of a person has its words on the page; a new column without words fails here."""
    words_of = {
        "school": "Nobody sees another school.",
        "role": "role",
        "name": "The name the school chose to write",
        "email": "e-mail address",
        "password": "The PIN, in a form that cannot be read back",
        "extra_time": "Extra time in per cent, where the school has agreed it. Never the reason",
        "rest_breaks": "Whether rest breaks are agreed, and when one was taken. Never the reason",
        "last_login": "When the pupil last signed in",
        "is_active": None,  # whether an adult may come in, which the adult notices
        "created_at": None,  # when the row was written
        "id": None,
    }
    words = text_of(client.get(ADULTS))
    columns = {field.name for field in User._meta.concrete_fields}
    assert columns == set(words_of)
    for sentence in filter(None, words_of.values()):
        assert sentence in words


@pytest.mark.parametrize(
    "sentence",
    [
        "The school decides why and how these data are used",
        "There is no birth date, address, photograph, e-mail address, sex or nationality of a pupil here",
        "Practice scores are not a standardised measure of ability.",
        "There is no advertising, no measuring of visitors",
        "We suggest the school year and one more.",
        "Sign-ins that failed: a day",
        "What is past its time is removed each night.",
        "You may also be told who saw it",
        "four hours for a pupil, twelve for an adult",
        "the policy comes first.",
    ],
)
def test_the_page_for_adults_says(client, db, sentence):
    assert sentence in text_of(client.get(ADULTS))


def own_words(answer):
    return text_of(answer).partition("A page for pupils")[2].partition("Practice scores show")[0]


@pytest.mark.parametrize(
    "sentence",
    [
        "Not very much. Here is all of it.",
        "If you have extra time or rest breaks: how much, and when you took one. Not why.",
        "Other children cannot. Other schools cannot.",
        "It does not say how clever you are.",
        "It is written down which adult looked, and when.",
        "Do not tell anyone your secret number.",
        "You may ask what is written down about you.",
    ],
)
def test_the_page_for_pupils_says(client, db, sentence):
    assert sentence in own_words(client.get(PUPILS))


def syllables(word):
    groups = re.findall(r"[aeiouy]+", word.lower().removesuffix("e")) or [""]
    return len(groups)


def test_the_page_for_pupils_can_be_read_at_nine(client, db):
    """Flesch-Kincaid grade (Kincaid and others, 1975): .39 words a sentence + 11.8 syllables a word - 15.59.

    Nine-year-olds are in grade 3 or 4 of the scale. The formula is quoted from memory; syllables are counted
    as groups of vowels, without a silent e.
    """
    text = own_words(client.get(PUPILS))
    words = re.findall(r"[A-Za-z’']+", text)
    sentences = [part for part in re.split(r"[.:?!]\s", text) if part.strip()]
    grade = 0.39 * len(words) / len(sentences) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
    assert len(words) > 150
    assert grade < 4.5
    assert max(map(len, words)) <= 10


def test_neither_page_asks_anything_of_another_host(client, db):
    for path in (ADULTS, PUPILS):
        assert not re.findall(r'(?:src|href|action)="(?:https?:)?//', client.get(path).content.decode())
