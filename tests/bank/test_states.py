"""Draft, ready, retired: what may follow what, from the services and from the buttons of the page."""

from __future__ import annotations

import pytest

from accounts.models import School, User
from bank.errors import NotReady, WrongState
from bank.models import State
from bank.services.questions import restore_question, set_state
from tests.bank.factories import CROWDED, make_question

pytestmark = pytest.mark.each_database


def test_ready_only_if_every_check_passes(school: School) -> None:
    assert set_state(question=make_question(school), state=State.READY).state == "ready"
    crowded = make_question(school, spec=CROWDED)
    with pytest.raises(NotReady) as refused:
        set_state(question=crowded, state=State.READY)
    assert [check["name"] for check in refused.value.failed] == ["holes are legible"]
    crowded.refresh_from_db()
    assert crowded.state == "draft"


def test_a_retired_question_is_restored_first(school: School) -> None:
    question = set_state(question=make_question(school), state=State.RETIRED)
    with pytest.raises(WrongState, match=r"Question 1 is retired\. Restore it first\."):
        set_state(question=question, state=State.READY)


@pytest.mark.parametrize(("spec", "back_as"), [(None, "ready"), (CROWDED, "draft")])
def test_restored_as_what_its_checks_allow(school: School, spec: dict | None, back_as: str) -> None:
    question = make_question(school, **({"spec": spec} if spec else {}))
    set_state(question=question, state=State.RETIRED)
    assert restore_question(question=question).state == back_as


@pytest.mark.parametrize(
    ("deed", "state", "says"),
    [
        ("ready", "ready", "Question 1 is ready to be set."),
        ("retire", "retired", "Question 1 is retired. Sets and results that have it keep it."),
    ],
)
def test_buttons_change_the_state_and_say_so(
    client_of, school: School, teacher: User, deed: str, state: str, says: str
) -> None:
    question = make_question(school, teacher)
    response = client_of(teacher).post(f"/bank/{question.pk}/{deed}/", follow=True)
    question.refresh_from_db()
    assert question.state == state
    assert says in response.content.decode()


def test_the_page_says_why_a_question_cannot_be_made_ready(client_of, school: School, teacher: User) -> None:
    question = make_question(school, teacher, spec=CROWDED)
    page = client_of(teacher).get(f"/bank/{question.pk}/").content.decode()
    assert "It can be made ready once every check passes." in page
    response = client_of(teacher).post(f"/bank/{question.pk}/ready/", follow=True)
    assert "cannot be made ready yet. Two holes almost touch in print." in response.content.decode()
    question.refresh_from_db()
    assert question.state == "draft"


def test_restore_button_says_what_the_question_is_now(client_of, school: School, teacher: User) -> None:
    question = set_state(question=make_question(school), state=State.RETIRED)
    response = client_of(teacher).post(f"/bank/{question.pk}/restore/", follow=True)
    assert "Question 1 is back, as ready." in response.content.decode()


def test_get_changes_nothing(client_of, school: School, teacher: User) -> None:
    question = make_question(school, teacher)
    for deed in ("ready", "retire", "restore", "copy"):
        assert client_of(teacher).get(f"/bank/{question.pk}/{deed}/").status_code == 405
    question.refresh_from_db()
    assert question.state == "draft"
