"""The history of a question: what changed in words and pictures, and an old version had back as a new one."""

from __future__ import annotations

from copy import deepcopy

import pytest

from accounts.models import School, User
from bank.changes import changes_between
from bank.errors import StaleEdit
from bank.models import Question, Version
from bank.services.questions import restore_version
from tests.bank.factories import DIAGONAL, HALVES, make_question
from tests.bank.pages import parse, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def question(school: School, teacher: User) -> Question:
    """Version 1 halves, version 2 diagonal."""
    made = make_question(school, teacher, state="ready")
    return make_question(school, teacher, spec=DIAGONAL, question=made, based_on=1, state="ready")


def said(change, **others) -> tuple[str, ...]:
    """What is said when a spec like HALVES is changed by ``change``."""
    before = Version(spec=deepcopy(HALVES), options={"key": "A", "options": []}, level=2)
    after = Version(spec=deepcopy(HALVES), options={"key": "A", "options": []}, level=2)
    for name, value in others.items():
        setattr(after, name, value)
    change(after.spec)
    return changes_between(before, after).says


def fold(spec):
    return spec["folds"][1]


def punch(spec):
    return spec["punches"][0]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda s: fold(s).update(way="behind"), "Fold 2 goes behind."),
        (
            lambda s: fold(s).update(layers=2, moves=["1", "0"]),
            "Fold 2 runs along another line and takes 2 of the layers.",
        ),
        (lambda s: s["folds"].pop(), "Fold 2 is gone."),
        (lambda s: s["folds"].append(fold(s)), "Fold 3 is new."),
        (lambda s: punch(s).update(shape="heart"), "Punch 1 is a heart, no longer a triangle."),
        (lambda s: punch(s).update(shape="L-piece"), "Punch 1 is an L-piece, no longer a triangle."),
        (lambda s: punch(s).update(size="1/5", turn=90), "Punch 1 is larger and is turned."),
        (lambda s: punch(s).update(at=["7/8", "7/8"], size="1/8"), "Punch 1 is in another place and is smaller."),
        (lambda s: s.update(sheet={"kind": "disc"}), "The sheet is a disc now, not a square."),
        (lambda s: None, "Only the words of its options or checks changed."),
    ],
)
def test_changes_of_the_paper_are_said(change, says):
    assert said(change) == (says,)


def test_changes_of_options_are_said():
    def option(label, holes, says="x"):
        return {"label": label, "holes": holes, "mistakes": [{"says": says}]}

    before = Version(spec=HALVES, level=2, options={"key": "A", "options": [option(o, o) for o in "ABCDE"]})
    options = [option("A", "B"), option("B", "A"), option("C", "C", "y"), option("D", "new"), option("E", "other")]
    after = Version(spec=HALVES, level=3, options={"key": "B", "options": options})
    changes = changes_between(before, after)
    assert changes.says == (
        "The key is B now, not A.",
        "Options D and E changed.",
        "Option C has another explanation.",
        "Difficulty 2 became 3.",
    )
    assert (changes.paper, changes.key, changes.options) == (False, False, ("D", "E"))


def test_the_page_shows_what_changed_in_a_fixed_number_of_queries(
    client_of, teacher, question, django_assert_num_queries
):
    client = client_of(teacher)
    client.get("/bank/")
    with django_assert_num_queries(8):
        page = parse(client.get(f"/bank/{question.pk}/versions/"))
    assert words(page, "//ol[@class='versions']//h2") == ["Version 2", "Version 1"]
    assert "Fold 3 is new." in words(page, "//ol[@class='versions']/li[1]//li")
    assert len(page.xpath("//ol[@class='versions']/li[1]//div[@class='before-after']/div")) == 2
    assert words(page, "//ol[@class='versions']/li[2]//ul/li") == ["The first version."]


def test_an_old_version_comes_back_as_a_new_one(client_of, teacher, other_teacher, question):
    client = client_of(other_teacher)
    assert (
        client.post(f"/bank/{question.pk}/versions/1/restore/", {"current": 2})["Location"] == f"/bank/{question.pk}/"
    )
    question.refresh_from_db()
    first = question.versions.get(number=1)
    assert (question.current.number, question.current.author, question.state) == (3, other_teacher, "ready")
    assert (question.current.spec, question.current.options) == (first.spec, first.options)
    assert (question.level, question.folds, question.shapes) == (first.level, 2, " triangle ")
    assert question.versions.count() == 3


def test_restored_twice_or_beside_a_colleague_nothing_is_lost(teacher, question):
    first = question.versions.get(number=1)
    assert restore_version(question=question, version=first, based_on=2, by=teacher) == 3
    assert restore_version(question=question, version=first, based_on=3, by=teacher) == 3, "it is that version already"
    with pytest.raises(StaleEdit):
        restore_version(question=question, version=first, based_on=2, by=teacher)
    assert question.versions.count() == 3


def test_a_ready_question_that_then_fails_a_check_is_a_draft(teacher, question):
    first = question.versions.get(number=1)
    question.versions.filter(number=1).update(checks=[{"name": "x", "ok": False, "says": "No."}])
    first.refresh_from_db()
    restore_version(question=question, version=first, based_on=2, by=teacher)
    assert Question.objects.get().state == "draft"
