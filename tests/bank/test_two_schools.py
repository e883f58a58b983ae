"""A school's bank is its own: a stranger is told that there is no such question; pupils are refused everywhere."""

from __future__ import annotations

import pytest

from accounts.models import School, User
from bank.models import Picture, Question, Version
from tests.bank.factories import keep_drawings, make_question, typed_halves
from tests.bank.pages import parse, words

pytestmark = pytest.mark.each_database

OF_A_QUESTION = [
    ("get", "/bank/{pk}/"),
    ("get", "/bank/{pk}/edit/"),
    ("post", "/bank/{pk}/edit/"),
    ("get", "/bank/{pk}/board/"),
    ("post", "/bank/{pk}/copy/"),
    ("post", "/bank/{pk}/ready/"),
    ("post", "/bank/{pk}/retire/"),
    ("post", "/bank/{pk}/restore/"),
]
OF_THE_BANK = [("get", "/bank/"), ("get", "/bank/new/"), ("post", "/bank/new/"), ("post", "/bank/preview/")]


@pytest.fixture
def question(school: School, teacher: User) -> Question:
    question = make_question(school, teacher, tags=["ours"])
    keep_drawings(question)
    return question


@pytest.mark.parametrize(("method", "address"), OF_A_QUESTION)
def test_a_stranger_finds_nothing(client_of, stranger: User, question: Question, method: str, address: str) -> None:
    sent = typed_halves(do="save-draft", version="1") if method == "post" else {}
    response = getattr(client_of(stranger), method)(address.format(pk=question.pk), sent)
    assert response.status_code == 404
    question.refresh_from_db()
    assert (Question.objects.count(), Version.objects.count(), question.state) == (1, 1, "draft")


def test_a_strangers_list_shows_nothing_of_ours(client_of, stranger: User, question: Question) -> None:
    page = parse(client_of(stranger).get("/bank/?q=ours"))
    assert "ours" not in words(page, "//fieldset")
    assert not page.xpath("//a[@class='name']")
    page = parse(client_of(stranger).get("/bank/new/"))
    assert page.xpath("//datalist/option/@value") == []


@pytest.mark.parametrize(("method", "address"), OF_A_QUESTION + OF_THE_BANK)
def test_pupils_are_refused(client_of, pupil: User, question: Question, method: str, address: str) -> None:
    response = getattr(client_of(pupil), method)(address.format(pk=question.pk))
    assert response.status_code == 403


@pytest.mark.parametrize("role", ["teacher", "other_teacher", "head", "administrator"])
def test_every_adult_of_the_school_may_use_the_bank(
    client_of, request: pytest.FixtureRequest, question: Question, role: str
) -> None:
    client = client_of(request.getfixturevalue(role))
    assert client.get(f"/bank/{question.pk}/edit/").status_code == 200
    assert client.post(f"/bank/{question.pk}/ready/").status_code == 302


def test_queries_of_nobody_and_of_pupils_are_empty(pupil: User, question: Question) -> None:
    from django.contrib.auth.models import AnonymousUser

    for user in (pupil, AnonymousUser()):
        for model in (Question, Version, Picture):
            assert not model.objects.visible_to(user).exists()


def test_versions_and_pictures_are_seen_with_their_question(teacher: User, stranger: User, question: Question) -> None:
    assert list(Version.objects.visible_to(teacher)) == [question.current]
    assert Picture.objects.visible_to(teacher).count() == 3 + 3 + 3 + 5
    assert not Version.objects.visible_to(stranger).exists()
    assert not Picture.objects.visible_to(stranger).exists()
