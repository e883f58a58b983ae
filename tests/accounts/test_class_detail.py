"""The page of one class."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.models import SchoolClass, SignInFailure, User
from tests.accounts.conftest import give_pin, text_of
from tests.factories import enrol, make_pupil


@pytest.fixture
def page(school_class):
    return reverse("accounts:class_detail", args=[school_class.pk])


def test_it_shows_code_teachers_and_pupils(client_of, teacher, pupil, page, school_class):
    words = text_of(client_of(teacher).get(page))
    assert f"Class code {school_class.code}" in words
    assert "Edda Marlin" in words
    assert "Pupils 1" in words
    assert "Fenna none not yet no PIN yet" in words


def test_it_tells_where_pupils_sign_in(client_of, teacher, pupil, page):
    words = text_of(client_of(teacher).get(page))
    assert "Pupils sign in at testserver/pupil/ with the class code, their name and their PIN." in words


def test_pupils_are_in_the_order_of_their_names(client_of, teacher, page, school, school_class):
    for name in ("zita", "Aldin", "élodie", "Brisa"):
        enrol(make_pupil(school, name), school_class)
    words = text_of(client_of(teacher).get(page))
    assert words.index("Aldin") < words.index("Brisa") < words.index("zita")


def test_extra_time_card_and_last_sign_in_are_shown(client_of, teacher, page, card, clock):
    User.objects.filter(pk=card.pupil.pk).update(extra_time=25, last_login=clock())
    words = text_of(client_of(teacher).get(page))
    assert "Fenna 25 % 14 May 2026, 10:00 has a card" in words


def test_a_class_without_pupils_says_what_to_do(client_of, teacher, page):
    words = text_of(client_of(teacher).get(page))
    assert "No pupils yet. Paste a list of names, and each gets a card to sign in with." in words


def test_whoever_only_looks_is_offered_nothing_to_change(client_of, head, pupil, page, school_class):
    answer = client_of(head).get(page)
    assert "Fenna" in text_of(answer)
    for name in ("class_edit", "pupils_import", "cards"):
        assert reverse(f"accounts:{name}", args=[school_class.pk]) not in answer.content.decode()
    assert f'"{reverse("accounts:pupil_edit", args=[pupil.pk])}"' not in answer.content.decode()
    assert f'"{reverse("assignments:pupil_progress", args=[pupil.pk])}"' in answer.content.decode()


@pytest.mark.parametrize("who", ["other_teacher", "stranger"])
def test_for_others_there_is_no_such_class(request, client_of, page, who):
    assert client_of(request.getfixturevalue(who)).get(page).status_code == 404


@pytest.mark.parametrize("number", ["0", "999999", "99999999999999999999999"])
def test_a_class_that_is_not_there(client_of, teacher, number):
    assert client_of(teacher).get(f"/classes/{number}/").status_code == 404


@pytest.mark.parametrize("path", ["/classes/x/", "/classes/1%00/", "/classes/-1/", "/classes/1.5/"])
def test_addresses_that_are_none(client_of, teacher, path):
    assert client_of(teacher).get(path).status_code == 404


def test_an_archived_class_says_so_and_can_be_used_again(client_of, teacher, page, school_class, pupil, clock):
    SchoolClass.objects.filter(pk=school_class.pk).update(archived_at=clock())
    answer = client_of(teacher).get(page)
    assert "Archived on 14 May 2026. Its pupils cannot sign in with its code; results are kept." in text_of(answer)
    assert reverse("accounts:class_restore", args=[school_class.pk]) in answer.content.decode()
    assert reverse("accounts:pupils_import", args=[school_class.pk]) not in answer.content.decode()


def test_names_are_text_and_cannot_turn_the_line_round(client_of, teacher, page, school, school_class):
    enrol(make_pupil(school, "<b>Bo</b>"), school_class)
    enrol(make_pupil(school, "محمد"), school_class)
    page = client_of(teacher).get(page).content.decode()
    assert "<b>Bo" not in page
    assert "<bdi>&lt;b&gt;Bo&lt;/b&gt;</bdi>" in page
    assert "<bdi>محمد</bdi>" in page


def test_no_pin_and_no_hash_is_on_the_page(client_of, teacher, page, card):
    body = client_of(teacher).get(page).content.decode()
    assert "482916" not in body
    assert "argon2" not in body


def test_the_number_of_queries_does_not_grow(client_of, teacher, page, school, school_class, django_assert_num_queries):
    browser = client_of(teacher)

    def pupils(count):
        for _ in range(count):
            pupil = make_pupil(school)
            enrol(pupil, school_class)
            give_pin(pupil)

    pupils(2)
    browser.get(page)
    with django_assert_num_queries(9):
        browser.get(page)
    pupils(30)
    with django_assert_num_queries(9):
        browser.get(page)


def test_a_lock_counts_from_the_last_success(client_of, teacher, page, card, clock):
    for _ in range(5):
        SignInFailure.objects.create(user=card.pupil, school_class=card.school_class, who="x", at=clock())
    browser = client_of(teacher)
    assert "Locked until 10:15" in text_of(browser.get(page))
    User.objects.filter(pk=card.pupil.pk).update(last_login=clock.forward(seconds=1))
    assert "Locked" not in text_of(browser.get(page))
