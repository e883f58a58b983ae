"""Many savers at once, with real threads on a database that really commits."""

from __future__ import annotations

import pytest

from bank.errors import StaleEdit
from bank.models import Question, Tag
from bank.services.pictures import render_pictures
from bank.services.questions import copy_question, set_state
from tests.at_once import all_at_once
from tests.bank.factories import DIAGONAL, make_question, options_of
from tests.factories import make_adult, make_school

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def no_drawing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Saves ask for pictures; these tests are not about them, and bitmaps take time."""
    monkeypatch.setattr("bank.services.questions.render_pictures.apply_async", lambda *args, **kwargs: None)


def test_ten_new_questions_get_ten_numbers() -> None:
    school = make_school()
    options_of(DIAGONAL)
    saved = all_at_once(*[lambda: make_question(school, spec=DIAGONAL, tags=["same"])] * 10)
    assert sorted(question.number for question in saved) == list(range(1, 11))
    assert Tag.objects.count() == 1


def test_of_five_edits_of_one_version_one_is_saved() -> None:
    school = make_school()
    question = make_question(school)
    for seed in range(2, 7):
        options_of(DIAGONAL, seed)
    edits = [
        lambda seed=seed: make_question(school, spec=DIAGONAL, seed=seed, question=question, based_on=1)
        for seed in range(2, 7)
    ]
    results = all_at_once(*edits)
    assert sum(isinstance(result, Question) for result in results) == 1
    assert sum(isinstance(result, StaleEdit) for result in results) == 4
    assert question.versions.count() == 2


def test_copies_at_once_are_copies_apart() -> None:
    school = make_school()
    teacher = make_adult(school)
    question = make_question(school)
    copies = all_at_once(*[lambda: copy_question(question=question, by=teacher)] * 5)
    assert sorted(copy.number for copy in copies) == [2, 3, 4, 5, 6]


def test_a_state_and_an_edit_at_once_both_hold() -> None:
    school = make_school()
    question = make_question(school)
    all_at_once(
        lambda: set_state(question=question, state="ready"),
        lambda: make_question(school, seed=2, question=question, based_on=1, state="ready"),
    )
    question.refresh_from_db()
    assert (question.state, question.current.number) == ("ready", 2)


def test_drawing_twice_at_once_keeps_each_picture_once() -> None:
    version = make_question(make_school()).current
    results = all_at_once(*[lambda: render_pictures(version=version)] * 3)
    assert all(isinstance(made, int) for made in results)
    assert version.pictures.count() == 3 + 3 + 3 + 5
    assert version.pictures.filter(has_png=True).count() == 3 + 3 + 5
