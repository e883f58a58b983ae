"""The questions of a set on the board, one after another."""

from __future__ import annotations

from accounts.models import User
from assignments.services.sets import add_questions, make_set
from tests.bank.factories import DIAGONAL, HALVES, make_question
from tests.bank.pages import parse, words


def test_a_set_runs_from_question_to_question(client_of, teacher: User) -> None:
    question_set = make_set(title="Thursday set", by=teacher)
    questions = [make_question(teacher.school, teacher, spec=spec, state="ready") for spec in (HALVES, DIAGONAL)]
    add_questions(question_set=question_set, questions=questions)
    client, address = client_of(teacher), f"/sets/{question_set.pk}/board"
    first = parse(client.get(f"{address}/1/"))
    assert "Thursday set, question 1 of 2" in words(first, "//a[@class='board-close']")[0]
    assert not first.xpath("//a[@rel='prev']")
    end = parse(client.get(f"{address}/1/?at=99"))
    assert end.xpath("//a[@rel='next']/@href") == [f"{address}/2/"]
    second = parse(client.get(f"{address}/2/"))
    assert second.xpath("//a[@rel='prev']/@href") == [f"{address}/1/"]
    for beyond in (0, 3):
        assert client.get(f"{address}/{beyond}/").status_code == 404
    page = parse(client.get(f"/sets/{question_set.pk}/"))
    assert page.xpath(f"//a[@href='{address}/1/']")
