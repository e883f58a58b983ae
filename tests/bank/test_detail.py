"""One question's page and its unfolding: everything that is known, said in words and shown in pictures."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import School, User
from assignments.models import QuestionSet, SetEntry
from bank.models import Question
from bank.services.pictures import render_pictures
from tests.bank.factories import CROWDED, DIAGONAL, keep_drawings, make_question
from tests.bank.pages import parse, words


@pytest.fixture
def question(school: School, teacher: User) -> Question:
    question = make_question(school, teacher, spec=DIAGONAL, tags=["diagonal"], note="For the tall ones")
    keep_drawings(question)
    return question


def page_of(client_of, user: User, question: Question, query: str = ""):
    return parse(client_of(user).get(f"/bank/{question.pk}/{query}"))


def test_stem_unfolding_and_options_are_all_there(client_of, teacher: User, question: Question) -> None:
    page = page_of(client_of, teacher, question)
    steps = words(page, "//ol[@class='opened']/li/p[@class='step-name']")
    assert steps[:4] == ["Fold 1", "Fold 2", "Fold 3", "Folded and punched"]
    assert steps[4:] == ["Folded and punched", "Opening fold 3", "Opening fold 2", "Opening fold 1"]
    assert words(page, "//b[@class='option-letter']") == list("ABCDE")
    assert words(page, "//li[@class='key']/p[contains(@class, 'why')]") == ["The sheet unfolded: right at every fold."]


def test_every_wrong_option_names_its_first_wrong_fold(client_of, teacher: User, question: Question) -> None:
    page = page_of(client_of, teacher, question)
    told = words(page, "//p[@class='fold-path']/span[@class='only-heard']")
    expected = [option["first_wrong_fold"] for option in question.current.options["options"]]
    assert told == [f"Goes wrong when fold {k} opens." if k else "Right at every fold." for k in expected]
    rings = [words(path, "./span[@class='wrong']") for path in page.xpath("//p[@class='fold-path']")]
    assert rings == [[str(k)] if k else [] for k in expected]


def test_checks_and_reasons_are_said(client_of, teacher: User, question: Question, school: School) -> None:
    page = page_of(client_of, teacher, question)
    assert len(words(page, "//ul[@class='check-list']/li")) == 7
    reasons = words(page, "//ul[@class='reasons']/li")
    assert reasons[0] == "Three folds, two of them slanting"
    assert "worked out from these, not yet from answers" in page.text_content()
    failed = page_of(client_of, teacher, make_question(school, spec=CROWDED))
    assert words(failed, "//li[@class='failed']//p") == ["Two holes almost touch in print."]


def test_earlier_versions_can_be_looked_at(client_of, school: School, teacher: User, question: Question) -> None:
    make_question(school, teacher, seed=1, question=question, based_on=1)
    now = page_of(client_of, teacher, question)
    assert words(now, "//ol[@class='rows']/li/a") == ["Version 2", "Version 1"]
    before = page_of(client_of, teacher, question, "?version=1")
    assert "This is version 1 of" in before.text_content()
    assert len(before.xpath("//section[@aria-labelledby='stem']//li")) == 4
    for wrong in ("9", "x", "-1", "٣", "1" * 40):
        response = client_of(teacher).get(f"/bank/{question.pk}/", {"version": wrong})
        assert response.status_code == 404


def test_where_it_is_used(client_of, school: School, teacher: User, question: Question) -> None:
    assert "in no set" in page_of(client_of, teacher, question).text_content()
    question_set = QuestionSet.objects.create(school=school, title="Thursday set", author=teacher)
    SetEntry.objects.create(question_set=question_set, question=question, position=1)
    page = page_of(client_of, teacher, question)
    (link,) = page.xpath("//a[text()='Thursday set']")
    assert link.get("href") == f"/sets/{question_set.pk}/"


def test_pictures_for_slides_are_linked_once_they_are_kept(client_of, teacher: User, school: School) -> None:
    question = make_question(school, teacher)
    assert "They are being drawn." in page_of(client_of, teacher, question).text_content()
    render_pictures(version=question.current)
    page = page_of(client_of, teacher, question)
    named = words(page, "//ul[@class='slide-list']/li")
    assert named[:3] == [f"{name}: SVG, PNG, large PNG" for name in ("Fold 1", "Fold 2", "Folded and punched")]
    assert len(named) == 3 + 5 + 2
    for link in page.xpath("//ul[@class='slide-list']//a/@href"):
        assert client_of(teacher).get(link).status_code == 200


def test_buttons_follow_the_state(client_of, school: School, teacher: User, question: Question) -> None:
    def buttons() -> list[str]:
        return words(page_of(client_of, teacher, question), "//div[@class='actions']//*[contains(@class, 'button')]")

    assert buttons() == ["Retire", "Copy", "Edit", "Make ready"]
    Question.objects.update(state="ready")
    assert buttons() == ["Retire", "Copy", "Edit"]
    Question.objects.update(state="retired")
    assert buttons() == ["Restore", "Copy"]


def test_as_many_queries_for_ten_versions_as_for_two(
    client_of, school: School, teacher: User, question: Question
) -> None:
    client = client_of(teacher)

    def count() -> int:
        with CaptureQueriesContext(connection) as asked:
            client.get(f"/bank/{question.pk}/")
        return len(asked)

    make_question(school, teacher, seed=1, question=question, based_on=1)
    keep_drawings(Question.objects.get(pk=question.pk))
    client.get(f"/bank/{question.pk}/")
    two = count()
    for number in range(2, 10):
        make_question(school, teacher, seed=number % 3 + 2, question=question, based_on=number)
    keep_drawings(Question.objects.get(pk=question.pk))
    assert count() == two
