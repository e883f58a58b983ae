"""Repeats and near repeats: what the bank has already, told at the workbench, on a question's page and in a batch."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone
from lxml import html

from accounts.models import School, User
from bank.models import State
from bank.services.importing import look_over
from bank.services.questions import save_question
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.bank.factories import DIAGONAL, HALVES, make_batch, make_question, options_of, typed_halves
from tests.bank.incoming import entries, file_of

BESIDE = HALVES | {"punches": [{"shape": "heart", "at": ["27/32", "11/16"], "size": "1/6", "turn": 90}]}  # 1/32 away
ELSEWHERE = HALVES | {"punches": [{"shape": "triangle", "at": ["5/8", "7/8"], "size": "1/6", "turn": 0}]}


def told(page: bytes) -> str:
    """What the row about repeats says, as text."""
    (row,) = html.fromstring(page).xpath("//ul[@class='check-list']/li[.//b[contains(., 'epeat')]]")
    return " ".join(row.text_content().split())


def at_the_bench(client, **typed: str) -> str:
    return told(client.post(reverse("bank:preview"), typed_halves(part="options", **typed)).content)


def saved(school: School, spec: dict) -> int:
    asked = read_spec(spec)
    return save_question(school=school, author=None, spec=asked, option_set=make_options(asked), state=State.DRAFT).pk


def test_the_workbench_tells_a_repeat_and_a_near_repeat_with_links(client_of, school: School, teacher: User) -> None:
    client = client_of(teacher)
    saved(school, ELSEWHERE)
    assert "No repeat passed The bank has no question like it." in at_the_bench(client)
    near = saved(school, BESIDE)
    assert "Nearly the same as question 2: folded alike" in at_the_bench(client)
    make_question(school)
    assert "The bank has this question already: number 3." in at_the_bench(client)
    page = client.post(reverse("bank:new"), typed_halves(do="show", punch__0__at="7/8, 11/16")).content.decode()
    assert f'href="{reverse("bank:detail", args=[near])}"' in page


def test_a_question_is_no_repeat_of_itself(client_of, school: School, teacher: User) -> None:
    question = make_question(school)
    assert "no question like it" in at_the_bench(client_of(teacher), question=str(question.pk))
    assert "no question like it" in told(client_of(teacher).get(reverse("bank:detail", args=[question.pk])).content)


def test_a_copy_is_told_on_its_page_until_it_is_changed(client_of, school: School, teacher: User) -> None:
    first, copy = make_question(school), make_question(school)
    page = client_of(teacher).get(reverse("bank:detail", args=[copy.pk])).content
    assert f"already: number {first.number}." in told(page)
    save_question(
        school=school,
        author=teacher,
        spec=read_spec(DIAGONAL),
        option_set=options_of(DIAGONAL),
        question=copy,
        based_on=1,
    )
    assert "no question like it" in told(client_of(teacher).get(reverse("bank:detail", args=[copy.pk])).content)


def test_a_near_repeat_in_a_batch_is_told_and_stays_kept(client_of, school: School, teacher: User) -> None:
    near = saved(school, BESIDE)
    batch = make_batch(teacher)
    page = client_of(teacher).get(reverse("bank:batch", args=[batch.pk])).content.decode()
    assert f'Nearly the same as <a href="{reverse("bank:detail", args=[near])}">question 1</a>' in page
    assert batch.candidates.get().kept


@pytest.mark.usefixtures("school")
def test_another_schools_questions_are_not_told(client_of, teacher: User, stranger: User) -> None:
    make_question(stranger.school)
    assert "no question like it" in at_the_bench(client_of(teacher))


def test_a_near_repeat_in_a_file_is_told_before_it_comes_in(client_of, school: School, teacher: User) -> None:
    near = saved(school, BESIDE)
    found = look_over(data=file_of(*entries()), by=teacher, at=timezone.now())
    page = client_of(teacher).get(reverse("bank:looked_over", args=[found.pk])).content.decode()
    assert page.count("Nearly the same as") == 1
    assert f'<a href="{reverse("bank:detail", args=[near])}">question 1</a>' in page
