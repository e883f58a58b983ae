"""A parallel paper: one variant of each question, said plainly where there is none, with a mark scheme of its own."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.models import School, User
from assignments.models import QuestionSet
from assignments.paper.editions import Edition
from assignments.paper.mark_scheme import make_mark_scheme
from assignments.paper.shuffles import arrange
from assignments.services.parallel import make_missing, pairs_of
from assignments.services.printing import material_of
from bank.models import Question, State
from geometry.option_sets import OptionSet
from geometry.variants import PARALLEL
from tests.assignments import factories as by_hand
from tests.assignments.factories import make_set
from tests.assignments.paper.material import HEADING, texts
from tests.bank.factories import make_question

pytestmark = pytest.mark.django_db


@pytest.fixture
def question_set(school: School, teacher: User) -> QuestionSet:
    return make_set(school, [make_question(school, teacher, state=State.READY) for _ in range(2)])


def variant_of(question: Question, **facts) -> Question:
    made = by_hand.make_question(question.school, level=question.level, folds=question.folds, **facts)
    made.current.punches = question.current.punches
    made.current.save()
    Question.objects.filter(pk=made.pk).update(origin=question)
    return made


def test_lacking_ones_are_named_before_anything_is_made_then_made_and_used(
    question_set: QuestionSet, teacher: User, client_of
) -> None:
    client = client_of(teacher)
    address = reverse("assignments:set_parallel", args=[question_set.pk])
    page = client.get(address).content.decode()
    assert "2 of 2 questions have no variant" in page
    for question, _ in pairs_of(question_set):
        assert f"both papers ask question {question.number}." in page
    assert client.post(address, {"make": "1"})["Location"] == address
    pairs = pairs_of(question_set)
    for question, variant in pairs:
        model, made = question.current, variant.current
        assert variant.origin == question
        assert made.fingerprint != model.fingerprint
        assert made.level == model.level
        assert all(made.difficulty["features"][name] == model.difficulty["features"][name] for name in PARALLEL)
    assert len({variant.current.fingerprint for _, variant in pairs}) == 2
    page = client.get(address).content.decode()
    assert "no variant" not in page.lower()
    assert "Made already" not in page
    answer = client.post(address, {"title": "Thursday set, Paper 2"})
    made = QuestionSet.objects.get(title="Thursday set, Paper 2")
    assert answer["Location"] == reverse("assignments:set_detail", args=[made.pk])
    page = client.get(address).content.decode()
    assert f'Made already: <a href="{answer["Location"]}">Thursday set, Paper 2</a>' in page
    assert 'value="Thursday set, Paper 3"' in page, "not a second one of the same name"
    entries = made.entries.select_related("question").order_by("position")
    assert [entry.question for entry in entries] == [variant for _, variant in pairs]
    material = material_of(made, None)
    assert [version.pk for version in material.versions] == [variant.current_id for _, variant in pairs]
    printed = "\n".join(texts(make_mark_scheme(HEADING, 1, arrange(made.pk, 1, material.versions), {}, Edition())))
    for number, version in enumerate(material.versions, 1):
        assert f"Question {number}: {OptionSet.from_json(version.options).key}" in printed
    again = [variant.pk for _, variant in pairs_of(question_set)]
    assert again == [variant.pk for _, variant in pairs], "one that is in a set is used where there is no other"


def test_only_ready_variants_as_hard_and_folded_as_often_count_and_unused_ones_first(school: School) -> None:
    question = by_hand.make_question(school)
    question_set = make_set(school, [question])
    variant_of(question, state=State.DRAFT)
    harder = variant_of(question)
    harder.current.level = 5
    harder.current.save()
    assert pairs_of(question_set)[0].variant is None
    used, unused = variant_of(question), variant_of(question)
    make_set(school, [used])
    assert pairs_of(question_set)[0].variant == unused


def test_a_question_that_cannot_be_varied_is_named_with_why_and_stands_in_both(
    school: School, teacher: User, client_of
) -> None:
    question = by_hand.make_question(school)
    options = question.current.options | {"sets": "lot"}  # drawn by lot, and stored without its sisters
    question.current.options = options
    question.current.save()
    other = by_hand.make_question(school)
    question_set, address = make_set(school, [question, other]), "assignments:set_parallel"
    variant = variant_of(other)
    made, (why,) = make_missing(question_set=question_set, by=teacher)
    assert (made, why.split(":")[0]) == (0, f"Question {question.number}")
    assert "sister" in why
    client_of(teacher).post(reverse(address, args=[question_set.pk]), {"title": "Again"})
    entries = QuestionSet.objects.get(title="Again").entries.order_by("position")
    assert [entry.question for entry in entries] == [question, variant]


def test_a_paper_that_asks_the_same_throughout_is_not_made(school: School, teacher: User, client_of) -> None:
    question_set = make_set(school, [by_hand.make_question(school)])
    answer = client_of(teacher).post(reverse("assignments:set_parallel", args=[question_set.pk]), {"title": "Again"})
    assert answer.status_code == 400
    assert "Both papers would ask the same questions. Have variants made first." in answer.content.decode()
    assert not QuestionSet.objects.filter(title="Again").exists()


def test_queries_do_not_grow_with_the_set(school: School, django_assert_num_queries) -> None:
    few, many = (make_set(school, [by_hand.make_question(school) for _ in range(n)]) for n in (1, 6))
    for question_set in (few, many):
        with django_assert_num_queries(3):
            pairs_of(question_set)
