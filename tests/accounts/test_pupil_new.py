"""Adding one pupil."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from accounts.models import Enrolment, User
from tests.accounts.conftest import text_of


@pytest.fixture
def page(school_class):
    return reverse("accounts:pupil_new", args=[school_class.pk])


@pytest.fixture
def browser(client_of, teacher):
    return client_of(teacher)


def fields(**other):
    return {"name": "Aldin", "extra_time": "0", "own_extra_time": ""} | other


def test_a_pupil_is_added_and_the_card_shown(browser, page, school_class, client):
    words = text_of(browser.post(page, fields()))
    pupil = User.objects.get(name="Aldin")
    assert Enrolment.objects.get(pupil=pupil).school_class == school_class
    pin = re.search(r"Aldin PIN (\d{3} \d{3})", words)[1]
    card = {"code": school_class.code, "name": "Aldin", "pin": pin}
    assert client.post("/pupil/", card).status_code == 302


def test_the_page_asks_for_little(browser, page):
    words = text_of(browser.get(page))
    assert "A first name, initials or a number are enough." in words
    assert "Set what the school has agreed." in words
    assert "The reason is never asked for and should not be noted here." in words


@pytest.mark.parametrize(
    ("choice", "percent"),
    [
        ({"extra_time": "0"}, 0),
        ({"extra_time": "25"}, 25),
        ({"extra_time": "50"}, 50),
        ({"extra_time": "own", "own_extra_time": "33"}, 33),
        ({"extra_time": "own", "own_extra_time": "300"}, 300),
        ({"extra_time": "own", "own_extra_time": "1"}, 1),
        ({"extra_time": "25", "own_extra_time": "900"}, 25),
        ({"extra_time": "0", "own_extra_time": "abc"}, 0),
    ],
)
def test_extra_time_is_none_a_quarter_a_half_or_another_figure(browser, page, choice, percent):
    browser.post(page, fields(**choice))
    assert User.objects.get(name="Aldin").extra_time == percent


@pytest.mark.parametrize(
    ("own", "sentence"),
    [
        ("", "Write a whole number from 1 to 300."),
        ("-10", "Write a whole number from 1 to 300."),
        ("0", "Write a whole number from 1 to 300."),
        ("301", "Write a whole number from 1 to 300."),
        ("900", "Write a whole number from 1 to 300."),
        ("12.5", "Write a whole number from 1 to 300."),
        ("a quarter", "Write a whole number from 1 to 300."),
        ("1e3", "Write a whole number from 1 to 300."),
        ("9" * 5000, "Write a whole number from 1 to 300."),
    ],
)
def test_another_figure_that_is_none_is_refused_beside_its_field(browser, page, own, sentence):
    answer = browser.post(page, fields(extra_time="own", own_extra_time=own))
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert 'id="id_own_extra_time_error"' in answer.content.decode()
    assert not User.objects.filter(name="Aldin").exists()


@pytest.mark.parametrize("choice", ["", "75", "None", "-10"])
def test_a_choice_that_is_not_offered_is_refused(browser, page, choice):
    answer = browser.post(page, fields(extra_time=choice))
    assert answer.status_code == 400
    assert not User.objects.filter(name="Aldin").exists()


def test_what_was_typed_stays(browser, page):
    body = browser.post(page, fields(extra_time="own", own_extra_time="900")).content.decode()
    assert 'value="Aldin"' in body
    assert 'value="900"' in body
    assert re.search(r'value="own"[^>]*checked', body)


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("B", "B"),
        ("O'Brien", "O'Brien"),
        ("\N{OWL}", "\N{OWL}"),
        ("annef\u202e", "annef"),
        ("=1+1", "=1+1"),
        ("<script>x</script>", "<script>x</script>"),
        ("  Aldin   K ", "Aldin K"),
    ],
)
def test_names_of_all_kinds(browser, page, name, kept):
    answer = browser.post(page, fields(name=name))
    assert User.objects.pupils().get().name == kept
    assert b"<script>x" not in answer.content


@pytest.mark.parametrize("name", ["", " ", "\u202e", "x" * 81, "a\x00b"])
def test_names_that_are_none(browser, page, name):
    answer = browser.post(page, fields(name=name))
    assert answer.status_code == 400
    assert 'id="id_name_error"' in answer.content.decode()


@pytest.mark.parametrize("name", ["Fenna", "fenna", " FENNA ", "Fen\u200bna"])
def test_a_name_of_the_class_is_refused(browser, page, pupil, name):
    answer = browser.post(page, fields(name=name))
    assert answer.status_code == 400
    assert "There is a pupil of this name in the class already. Add an initial, so that each can sign in." in text_of(
        answer
    )
    assert User.objects.pupils().count() == 1


def test_sent_twice_adds_once_and_leaves_the_first_card_good(browser, page, school_class, client):
    words = text_of(browser.post(page, fields()))
    assert browser.post(page, fields()).status_code == 400
    pin = re.search(r"Aldin PIN (\d{3} \d{3})", words)[1]
    assert client.post("/pupil/", {"code": school_class.code, "name": "Aldin", "pin": pin}).status_code == 302


def test_fields_nobody_asked_for_change_nothing(browser, page, school, other_school):
    browser.post(page, fields(percent="300", role="administrator", school=other_school.pk, email="a@b.example"))
    pupil = User.objects.get(name="Aldin")
    assert (pupil.extra_time, pupil.role, pupil.school, pupil.email) == (0, "pupil", school, None)


def test_a_thousand_and_one_fields_are_a_bad_request(browser, page):
    many = {f"field{number}": "x" for number in range(1001)}
    assert browser.post(page, many).status_code == 400


@pytest.mark.parametrize(
    ("who", "status"),
    [("administrator", 200), ("other_teacher", 404), ("head", 404), ("stranger", 404), ("pupil", 403)],
)
def test_who_may_add(request, client_of, page, who, status):
    assert client_of(request.getfixturevalue(who)).get(page).status_code == status
