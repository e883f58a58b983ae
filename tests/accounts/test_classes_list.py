"""The list of classes."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.models import SchoolClass
from tests.accounts.conftest import text_of
from tests.factories import make_class, make_pupil

PAGE = "/classes/"


def test_a_teacher_sees_the_classes_they_take(client_of, teacher, pupil, school_class, other_class):
    words = text_of(client_of(teacher).get(PAGE))
    assert f"6 Larch 1 Edda Marlin {school_class.code}" in words
    assert "6 Rowan" not in words


@pytest.mark.parametrize("who", ["head", "administrator"])
def test_head_and_administrator_see_the_school(request, client_of, who, pupil, other_pupil, foreign_pupil):
    words = text_of(client_of(request.getfixturevalue(who)).get(PAGE))
    assert "6 Larch" in words
    assert "6 Rowan" in words
    assert "5 Alder" not in words


def test_pupils_are_counted(client_of, teacher, school, school_class):
    for _ in range(3):
        make_class(school, teachers=(teacher,), pupils=tuple(make_pupil(school) for _ in range(4)))
    words = text_of(client_of(teacher).get(PAGE))
    assert words.count(" 4 Edda Marlin") == 3
    assert "4 classes" in words


@pytest.mark.parametrize(("who", "offered"), [("teacher", True), ("administrator", True), ("head", False)])
def test_a_new_class_is_offered_to_whoever_may_make_one(request, client_of, who, offered, school_class):
    page = client_of(request.getfixturevalue(who)).get(PAGE).content.decode()
    assert (reverse("accounts:class_new") in page) is offered


@pytest.mark.parametrize(
    ("who", "sentence"),
    [
        ("teacher", "A class has a code, and pupils who sign in with it."),
        ("head", "Your school has no classes yet. Its teachers and administrator make them."),
    ],
)
def test_an_empty_list_says_what_to_do(request, client_of, who, sentence):
    assert sentence in text_of(client_of(request.getfixturevalue(who)).get(PAGE))


def test_archived_classes_are_on_a_page_of_their_own(client_of, teacher, school_class, school, clock):
    make_class(school, "6 Rowan", teachers=(teacher,))
    browser = client_of(teacher)
    assert "Archived classes" not in text_of(browser.get(PAGE))
    SchoolClass.objects.filter(name="6 Rowan").update(archived_at=clock())
    current, archived = text_of(browser.get(PAGE)), text_of(browser.get(PAGE + "?archived=1"))
    assert "Archived classes" in current
    assert "6 Rowan" not in current
    assert "6 Rowan" in archived
    assert "6 Larch" not in archived


def test_a_class_nobody_takes_says_so(client_of, administrator, school):
    make_class(school, "5 Alder")
    assert "nobody yet" in text_of(client_of(administrator).get(PAGE))


@pytest.mark.parametrize("query", ["?archived=2", "?archived=", "?page=-1", "?archived=%00"])
def test_odd_questions_show_the_list(client_of, teacher, school_class, query):
    answer = client_of(teacher).get(PAGE + query)
    assert answer.status_code == 200
    assert "6 Larch" in text_of(answer)


def test_pupils_have_no_such_page(client_of, pupil):
    assert client_of(pupil).get(PAGE).status_code == 403


def test_the_number_of_queries_does_not_grow(client_of, administrator, teacher, school, django_assert_num_queries):
    browser = client_of(administrator)

    def classes(count):
        for _ in range(count):
            make_class(school, teachers=(teacher,), pupils=(make_pupil(school),))

    classes(2)
    browser.get(PAGE)
    with django_assert_num_queries(6):
        browser.get(PAGE)
    classes(20)
    with django_assert_num_queries(6):
        browser.get(PAGE)
