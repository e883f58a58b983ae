"""The bank's list: what is found, counted and ordered; all of it from the address, in a fixed number of queries."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest
from django.test import Client

from accounts.models import School, User
from bank.models import Question, State, Tag, Version
from bank.services.questions import set_state
from tests.bank.factories import DIAGONAL, HALVES, keep_drawings, make_question
from tests.bank.pages import parse, words

pytestmark = pytest.mark.each_database


@pytest.fixture
def bank(school: School, teacher: User) -> None:
    """1 halves, ready; 2 diagonal, draft; 3 diagonal, ready; 4 halves, retired."""
    make_question(school, teacher, tags=["halves", "starter"], state=State.READY)
    make_question(school, teacher, spec=DIAGONAL, tags=["diagonal"], note="For the tall ones")
    make_question(school, teacher, spec=DIAGONAL, tags=["diagonal", "starter"], state=State.READY)
    set_state(question=make_question(school, teacher, tags=["halves"]), state=State.RETIRED)
    for question in Question.objects.select_related("current"):
        keep_drawings(question)


@pytest.fixture
def page(client_of, teacher: User, bank: None):
    def show(**query):
        return parse(client_of(teacher).get(f"/bank/?{urlencode(query, doseq=True)}"))

    return show


def numbers(page) -> list[int]:
    return [int(text.removeprefix("Question ")) for text in words(page, "//a[@class='name']")]


def count_of(page, name: str, value: object) -> int:
    """The count that stands beside a value of a filter."""
    (box,) = page.xpath(f"//input[@name='{name}'][@value='{value}']/ancestor::label")
    return int(box.text_content().split()[-1])


def test_newest_first_without_the_retired(page) -> None:
    assert numbers(page()) == [3, 2, 1]
    assert words(page(), "//p[@id='bank-count']") == ["3 of 4 questions"]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"q": "2"}, [2]),
        ({"q": "#3"}, [3]),
        ({"q": " tall "}, [2]),
        ({"q": "STARTER"}, [3, 1]),
        ({"q": "100 %"}, []),
        ({"level": "1"}, [1]),
        ({"folds": "3"}, [3, 2]),
        ({"folds": ["2", "3"]}, [3, 2, 1]),
        ({"state": "draft"}, [2]),
        ({"state": ["draft", "ready", "retired"]}, [4, 3, 2, 1]),
        ({"crease": "diagonal"}, [3, 2]),
        ({"crease": ["straight", "oblique"]}, [3, 2, 1]),
        ({"crease": "oblique"}, []),
        ({"shape": "triangle"}, [1]),
        ({"shape": ["triangle", "drop"], "crease": "diagonal"}, [3, 2]),
        ({"sort": "oldest"}, [1, 2, 3]),
        ({"sort": "easiest"}, [1, 3, 2]),
        ({"sort": "hardest"}, [3, 2, 1]),
    ],
)
def test_filters(page, query: dict, found: list[int]) -> None:
    assert numbers(page(**query)) == found


def test_mistakes_tested_and_their_counts(page) -> None:
    kinds = {m["kind"] for o in Version.objects.get(question__number=1).options["options"] for m in o["mistakes"]}
    others = {m["kind"] for o in Version.objects.get(question__number=2).options["options"] for m in o["mistakes"]}
    only = min(kinds - others)
    assert numbers(page(mistake=only)) == [1]
    assert count_of(page(), "mistake", only) == 1
    assert {box.get("value") for box in page().xpath("//input[@name='mistake']")} == kinds | others


def test_made_by(page, school: School, teacher: User, other_teacher: User) -> None:
    make_question(school, other_teacher)
    assert numbers(page(author=other_teacher.pk)) == [5]
    assert count_of(page(), "author", teacher.pk) == 3
    assert words(page(author=[other_teacher.pk]), "//input[@name='author'][@checked]/..") == ["Joss Arkle 1"]


def test_tags_narrow_each_other(page) -> None:
    starter, diagonal = (Tag.objects.get(name=name).pk for name in ("starter", "diagonal"))
    assert numbers(page(tag=starter)) == [3, 1]
    assert numbers(page(tag=[starter, diagonal])) == [3]


def test_a_count_says_what_its_value_would_show(page) -> None:
    shown = page(folds="3")
    assert count_of(shown, "folds", 2) == 1  # beside 3: other values of a filter widen it
    assert count_of(shown, "folds", 3) == 2
    assert count_of(shown, "state", "ready") == 1
    assert count_of(shown, "state", "retired") == 0
    assert count_of(shown, "tag", Tag.objects.get(name="diagonal").pk) == 2
    assert not shown.xpath(f"//input[@name='tag'][@value='{Tag.objects.get(name='halves').pk}']")


def test_what_was_asked_for_stays_chosen(page) -> None:
    shown = page(q="1", level=["1", "2"], state="ready", sort="easiest")
    values = shown.xpath("//form[@role='search']")[0].form_values()
    assert sorted(values) == [("level", "1"), ("level", "2"), ("q", "1"), ("sort", "easiest"), ("state", "ready")]


@pytest.mark.parametrize(
    "query",
    [
        {"page": "-1"},
        {"page": "x"},
        {"page": "999999999999999999999"},
        {"sort": "password"},
        {"tag": "1 OR 1=1"},
        {"level": "٣"},
        {"state": "gone"},
        {"crease": "diagona"},
        {"crease": "%"},
        {"shape": "teapot"},
        {"mistake": " carried "},
        {"author": "x"},
        {"unused": "999999"},
        {"folds": "1" * 5000},
        {"tag": "9" * 30},
    ],
)
def test_values_that_mean_nothing_are_left_out(page, query: dict) -> None:
    assert numbers(page(**query)) == [3, 2, 1]


def test_text_with_signs_of_other_languages_is_text(page) -> None:
    for text in ("%", "_", "'; drop table", "\x00", "<script>", "x" * 5000):
        assert numbers(page(q=text)) == ([3, 2, 1] if text == "\x00" else [])


def test_a_tag_of_another_school_finds_nothing(page, other_school: School) -> None:
    foreign = Tag.objects.create(school=other_school, name="halves")
    assert numbers(page(tag=foreign.pk)) == []


def test_pages(client_of, school: School, teacher: User) -> None:
    copies(school, 60)
    first = parse(client_of(teacher).get("/bank/?sort=oldest"))
    third = parse(client_of(teacher).get("/bank/?sort=oldest&page=3"))
    assert numbers(first) == list(range(1, 25))
    assert numbers(third) == list(range(49, 61))
    assert "?sort=oldest&page=2" in first.xpath("//a[@rel='next']/@href")


def test_an_empty_bank_shows_what_to_do(client_of, teacher: User) -> None:
    response = client_of(teacher).get("/bank/")
    assert "The bank is empty." in response.content.decode()


def test_nothing_found_can_be_cleared(page) -> None:
    shown = page(q="nowhere")
    assert words(shown, "//div[@class='empty']/p") == ["No question has all of these."]


def test_as_many_queries_for_sixty_questions_as_for_three(
    client_of, school: School, teacher: User, bank: None, django_assert_num_queries
) -> None:
    client: Client = client_of(teacher)
    client.get("/bank/")
    with django_assert_num_queries(QUERIES):
        client.get("/bank/")
    copies(school, 60)
    with django_assert_num_queries(QUERIES):
        client.get("/bank/?state=draft&state=ready&q=a")


QUERIES = 22  # session, person, school, 10 for filters, searches, 2 counts, the page with its facts, pictures, uses


def copies(school: School, count: int) -> None:
    """Make the bank ``count`` questions long, past the services, for these are many."""
    source = Question.objects.filter(school=school).first() or make_question(school)
    names = ("spec", "options", "level", "folds", "punches", "fingerprint")
    facts = {name: getattr(source.current, name) for name in names}
    for number in range(Question.objects.filter(school=school).count() + 1, count + 1):
        question = Question.objects.create(school=school, number=number, level=facts["level"], folds=facts["folds"])
        question.current = Version.objects.create(question=question, number=1, **facts)
        question.save()
        keep_drawings(question)


def test_spec_of_the_fixtures_is_what_it_says() -> None:
    assert (len(HALVES["folds"]), len(DIAGONAL["folds"])) == (2, 3)
