"""Saving: what a version holds, when the next is made, how questions are numbered."""

from __future__ import annotations

import pytest
from django.db import IntegrityError

from accounts.models import School, User
from bank.errors import NotReady, TagError
from bank.models import Question, State
from bank.services.questions import save_question
from geometry.option_sets import OptionSet
from geometry.spec import read_spec
from tests.bank.factories import CROWDED, DIAGONAL, HALVES, make_question, options_of

pytestmark = pytest.mark.each_database


def test_a_saved_question_has_a_first_version_that_holds_everything(school: School, teacher: User) -> None:
    question = make_question(school, teacher, spec=DIAGONAL, tags=["thirds"], note="Starter")
    version = question.current
    assert (question.number, question.author, question.note, question.state) == (1, teacher, "Starter", "draft")
    assert (version.number, version.author, version.folds, version.punches) == (1, teacher, 3, 1)
    assert read_spec(version.spec) == read_spec(DIAGONAL)
    found = options_of(DIAGONAL)
    assert (version.key, version.level, version.fingerprint) == (found.key, found.difficulty.level, found.fingerprint)
    assert [(c["name"], c["ok"], c["says"]) for c in version.checks] == [
        (check.name, check.ok, check.says) for check in found.checks()
    ]


def test_options_come_back_from_the_database_as_they_were_saved(school: School) -> None:
    question = Question.objects.get(pk=make_question(school, spec=DIAGONAL).pk)
    assert OptionSet.from_json(question.current.options).to_json() == options_of(DIAGONAL).to_json()


def test_saving_a_change_makes_the_next_version_and_leaves_the_first(school: School, teacher: User) -> None:
    question = make_question(school, teacher)
    first = question.current
    again = make_question(school, teacher, spec=DIAGONAL, question=question, based_on=1)
    assert again.pk == question.pk
    assert (again.current.number, again.level, again.folds) == (2, options_of(DIAGONAL).difficulty.level, 3)
    first.refresh_from_db()
    assert first.spec == HALVES
    assert list(again.versions.values_list("number", flat=True)) == [1, 2]


def test_another_set_of_options_is_a_change(school: School) -> None:
    question = make_question(school, seed=1)
    assert make_question(school, seed=2, question=question, based_on=1).current.number == 2


def test_saving_the_same_paper_keeps_the_version_and_takes_the_note_and_tags(school: School) -> None:
    question = make_question(school, tags=["old"])
    again = make_question(school, tags=["new"], note="Later", question=question, based_on=1)
    assert again.current.number == 1
    assert (again.note, [tag.name for tag in again.tags.all()]) == ("Later", ["new"])


def test_numbers_count_within_each_school(school: School, other_school: School) -> None:
    numbers = [make_question(where).number for where in (school, school, other_school, school)]
    assert numbers == [1, 2, 1, 3]


def test_the_database_refuses_a_number_twice(school: School) -> None:
    make_question(school)
    with pytest.raises(IntegrityError):
        Question.objects.create(school=school, number=1)


def test_a_question_that_fails_a_check_is_not_saved_as_ready_and_says_why(school: School) -> None:
    with pytest.raises(NotReady, match=r"cannot be made ready yet\. Two holes almost touch in print\."):
        make_question(school, spec=CROWDED, state=State.READY)
    assert not Question.objects.exists()
    assert make_question(school, spec=CROWDED).state == "draft"


def test_nothing_is_saved_when_the_tags_cannot_be_read(school: School) -> None:
    with pytest.raises(TagError, match="40 characters"):
        save_question(
            school=school,
            author=None,
            spec=read_spec(HALVES),
            option_set=options_of(HALVES),
            tags=["x" * 41],
        )
    assert not Question.objects.exists()
