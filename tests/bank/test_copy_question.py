from __future__ import annotations

from accounts.models import School, User
from bank.models import Question, State
from bank.services.questions import copy_question
from tests.bank.factories import DIAGONAL, make_question


def test_a_copy_is_a_new_draft_with_the_same_paper_options_and_tags(
    school: School, teacher: User, other_teacher: User
) -> None:
    question = make_question(school, teacher, spec=DIAGONAL, tags=["a", "b"], state=State.READY)
    copy = copy_question(question=question, by=other_teacher)
    assert (copy.number, copy.state, copy.author, copy.note) == (2, "draft", other_teacher, "Copy of 1")
    assert (copy.current.number, copy.current.spec) == (1, DIAGONAL)
    assert copy.current.options == question.current.options
    assert copy.current.checks == question.current.checks
    assert [tag.name for tag in copy.tags.all()] == ["a", "b"]
    assert copy.current.pk != question.current.pk


def test_the_button_opens_the_copy_for_editing(client_of, school: School, teacher: User) -> None:
    question = make_question(school, teacher)
    response = client_of(teacher).post(f"/bank/{question.pk}/copy/", follow=True)
    copy = Question.objects.get(number=2)
    assert response.redirect_chain == [(f"/bank/{copy.pk}/edit/", 302)]
    assert "Question 2 is a copy of question 1." in response.content.decode()
