"""Two teachers edit one question: the second is told, and both texts are kept."""

from __future__ import annotations

import pytest

from accounts.models import School, User
from bank.errors import StaleEdit
from bank.models import Question
from tests.bank.factories import DIAGONAL, make_question, typed_halves
from tests.bank.pages import parse, typed_in

pytestmark = pytest.mark.each_database


def test_the_second_saver_is_told_who_saved_first(school: School, teacher: User, other_teacher: User) -> None:
    question = make_question(school, teacher)
    make_question(school, other_teacher, spec=DIAGONAL, question=question, based_on=1)
    with pytest.raises(StaleEdit, match="Joss Arkle saved version 2 of this question while you were editing"):
        make_question(school, teacher, seed=2, question=question, based_on=1)
    question.refresh_from_db()
    assert question.current.number == 2


def test_a_save_that_names_no_version_is_stale(school: School) -> None:
    question = make_question(school)
    with pytest.raises(StaleEdit):
        make_question(school, seed=2, question=question)


@pytest.fixture
def stale(school: School, teacher: User, other_teacher: User) -> Question:
    question = make_question(school, teacher, tags=["mine"])
    make_question(school, other_teacher, spec=DIAGONAL, tags=["theirs"], note="Joss's", question=question, based_on=1)
    return question


def post(client_of, teacher: User, question: Question, **changes: str):
    typed = typed_halves(**{"do": "save-draft", "version": "1", "note": "Edda's", "tags": "mine"} | changes)
    return client_of(teacher).post(f"/bank/{question.pk}/edit/", typed)


def test_the_page_answers_409_and_shows_both_texts(client_of, teacher: User, stale: Question) -> None:
    response = post(client_of, teacher, stale, punch__0__shape="heart")
    page = parse(response)
    assert response.status_code == 409
    theirs, mine = page.xpath("//section[@class='theirs']")[0].text_content(), typed_in(page)
    assert "Joss Arkle saved version 2 of this question while you were editing." in theirs
    assert "Note: Joss's" in theirs
    assert "theirs" in theirs
    assert (mine["note"], mine["tags"], mine["punch-0-shape"]) == ("Edda's", "mine", "heart")
    assert (mine["version"], mine["over"]) == ("1", "2")
    assert stale.versions.count() == 2


def test_mine_can_be_kept_as_the_next_version(client_of, teacher: User, stale: Question) -> None:
    response = post(client_of, teacher, stale, do="keep-draft", over="2")
    stale.refresh_from_db()
    assert response.status_code == 302
    assert (stale.current.number, stale.note) == (3, "Edda's")
    assert stale.versions.get(number=2).spec == DIAGONAL


def test_keeping_mine_is_stale_again_if_a_third_was_saved(
    client_of, school: School, teacher: User, other_teacher: User, stale: Question
) -> None:
    make_question(school, other_teacher, seed=2, question=stale, based_on=2)
    response = post(client_of, teacher, stale, do="keep-draft", over="2")
    assert response.status_code == 409
    assert stale.versions.count() == 3
