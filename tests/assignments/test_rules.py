"""Sets filled by rule, and their keys drawn anew."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from accounts.models import School, SchoolClass, User
from assignments.models import QuestionSet
from assignments.queries import median_seconds
from assignments.rules import Rule, questions_by_rule
from assignments.services import keys
from bank.errors import BankError
from bank.models import Question, State, Version
from bank.services.questions import redraw_letters
from tests.assignments.factories import make_assignment, make_question, make_set, make_sitting
from tests.bank.factories import make_question as make_real_question

pytestmark = pytest.mark.django_db


def by_rule(question_set: QuestionSet, **rule: object) -> set[Question]:
    facts = {"count": 20, "seed": 1} | rule
    return set(questions_by_rule(question_set, Question.objects.filter(school=question_set.school), Rule(**facts)))


def with_features(question: Question, **features: int) -> Question:
    Version.objects.filter(pk=question.current_id).update(difficulty={"facility": 0.6, "features": features})
    return question


@pytest.fixture
def empty(school: School) -> QuestionSet:
    return make_set(school, [])


class TestRule:
    def test_only_ready_questions_of_the_school_that_the_set_has_not(
        self, school: School, other_school: School
    ) -> None:
        there, new = make_question(school), make_question(school)
        make_question(school, state=State.DRAFT)
        make_question(school, state=State.RETIRED)
        make_question(other_school)
        assert by_rule(make_set(school, [there])) == {new}

    def test_filters_narrow_and_their_values_widen(self, empty: QuestionSet, school: School) -> None:
        two, four = (
            make_question(school, level=2, tags=("a",)),
            make_question(school, level=4, folds=2, tags=("a", "b")),
        )
        tag = {tag.name: tag.pk for tag in four.tags.all()}
        assert by_rule(empty, levels=(2, 4)) == {two, four}
        assert by_rule(empty, levels=(4,)) == {four}
        assert by_rule(empty, folds=(1,)) == {two}
        assert by_rule(empty, tags=(tag["a"],)) == {two, four}
        assert by_rule(empty, tags=(tag["a"], tag["b"])) == {four}
        assert by_rule(empty, levels=(4,), folds=(1,)) == set()

    def test_creases_and_mistakes(self, empty: QuestionSet, school: School) -> None:
        straight = with_features(make_question(school), slanting=0, oblique=0)
        diagonal = with_features(make_question(school), slanting=1, oblique=0)
        slanting = with_features(make_question(school), slanting=2, oblique=2)
        assert by_rule(empty, creases=("straight",)) == {straight}
        assert by_rule(empty, creases=("diagonal",)) == {diagonal}
        assert by_rule(empty, creases=("diagonal", "oblique")) == {diagonal, slanting}
        assert by_rule(empty, mistakes=("slid",)) == {straight, diagonal, slanting}
        assert by_rule(empty, mistakes=("carried",)) == set()

    def test_nothing_that_the_class_was_set_since_a_date(
        self, empty: QuestionSet, school_class: SchoolClass, other_class: SchoolClass
    ) -> None:
        now = timezone.now()
        old = make_assignment(school_class, "A", opens_at=now - timedelta(days=90))
        new = make_assignment(school_class, "A", opens_at=now - timedelta(days=3))
        theirs = make_assignment(other_class, "A", opens_at=now - timedelta(days=3))
        asked = {each: each.questions.get().version.question for each in (old, new, theirs)}
        since = now - timedelta(days=30)
        assert by_rule(empty, school_class=school_class, since=since) == {asked[old], asked[theirs]}
        assert by_rule(empty, school_class=school_class) == {asked[theirs]}
        assert by_rule(empty) == set(asked.values())

    def test_the_preview_adds_nothing_and_posting_it_adds_in_its_order(
        self, client_of, teacher: User, empty: QuestionSet, school: School
    ) -> None:
        hard, easy = make_question(school, level=4), make_question(school, level=1)
        client, address = client_of(teacher), reverse("assignments:set_rule", args=[empty.pk])
        response = client.get(address + "?count=5&order=rising&seed=3")
        assert [row["question"] for row in response.context["picked"]] == [easy, hard]
        assert "2 questions picked of 5: no more fit" in response.content.decode()
        assert not empty.entries.exists()
        client.post(address + "?count=5&order=rising&seed=3", {"question": [easy.pk, hard.pk]})
        assert [entry.question for entry in empty.entries.order_by("position")] == [easy, hard]

    @pytest.mark.parametrize(
        ("query", "says"),
        [
            ("count=0&order=rising", "from 1 to 60"),
            ("count=x&order=rising", "from 1 to 60"),
            ("count=3&order=rising&since=soon", "Write a date"),
            ("count=3&order=rising&school_class=999999", "is not offered. Choose another."),
        ],
    )
    def test_a_rule_that_cannot_be_read_is_said_at_its_field(
        self, client_of, teacher: User, empty: QuestionSet, query: str, says: str
    ) -> None:
        response = client_of(teacher).get(reverse("assignments:set_rule", args=[empty.pk]) + f"?{query}")
        assert response.status_code == 400
        assert says in response.content.decode()

    def test_the_queries_do_not_grow_with_the_bank(
        self, client_of, teacher: User, empty: QuestionSet, school: School
    ) -> None:
        client, address = client_of(teacher), reverse("assignments:set_rule", args=[empty.pk])
        asked = []
        for more in (3, 12):
            for _ in range(more):
                make_question(school, tags=("a",))
            with CaptureQueriesContext(connection) as queries:
                client.get(f"{address}?count=3&order=rising")
            asked.append(len(queries))
        assert asked[0] == asked[1] <= 16


class TestTimes:
    def test_medians_of_the_newest_assignments_where_enough_pupils_sat(self, school_class, pupil, monkeypatch) -> None:
        """Ten seconds for each question, as the sittings are made."""
        assignment = make_assignment(school_class, "ABC")
        versions = [asked.version for asked in assignment.questions.order_by("position")]
        make_sitting(assignment, pupil, choices="AB-")
        assert median_seconds(versions) == {}, "one pupil's time tells little"
        monkeypatch.setattr("assignments.queries.TIMERS", 1)
        assert median_seconds(versions) == {versions[0].pk: 10, versions[1].pk: 10}
        assert median_seconds(versions[2:]) == {}


class TestKeys:
    def test_letters_are_drawn_anew_and_what_was_assigned_stays(
        self, client_of, teacher: User, school_class: SchoolClass
    ) -> None:
        real = make_real_question(school_class.school, state=State.READY)
        assignment = make_assignment(school_class, "AB")
        assigned = list(assignment.questions.values_list("version", "version__options__key"))
        question_set = assignment.question_set
        question_set.entries.create(question=real, position=3)
        page = client_of(teacher).post(reverse("assignments:set_redraw", args=[question_set.pk]), follow=True)
        assert "The letters of 3 questions were drawn anew." in page.content.decode()
        assert list(assignment.questions.values_list("version", "version__options__key")) == assigned
        real.refresh_from_db()
        assert real.current.question.state == State.READY
        first = real.versions.get(number=1)
        assert real.current.spec == first.spec
        pictures = [{str(o["holes"]) for o in v.options["options"]} for v in (first, real.current)]
        assert pictures[0] == pictures[1]

    def test_each_letter_can_become_the_key(self, school: School, teacher: User) -> None:
        question = make_real_question(school)
        keys_drawn = set()
        for seed in range(12):
            redraw_letters(question=question, by=teacher, lot=Random(seed))
            question.refresh_from_db()
            keys_drawn.add(question.current.key)
            assert all(check["ok"] for check in question.current.checks)
        assert keys_drawn == set("ABCDE")

    def test_all_or_none(self, school: School, teacher: User, monkeypatch: pytest.MonkeyPatch) -> None:
        questions = [make_real_question(school), make_real_question(school, seed=2)]
        question_set = make_set(school, questions)

        def break_at_the_second(*, question: Question, **given: object) -> bool:
            if question == questions[1]:
                raise BankError("Somebody else is saving this question.")
            return redraw_letters(question=question, **given)

        monkeypatch.setattr(keys, "redraw_letters", break_at_the_second)
        with pytest.raises(BankError):
            keys.redraw_keys(question_set=question_set, by=teacher)
        assert Version.objects.count() == 2

    def test_the_page_tells_the_distribution_and_why(self, client_of, teacher: User, school: School) -> None:
        question_set = make_set(school, [make_question(school, key=key) for key in "AAB"])
        page = client_of(teacher).get(reverse("assignments:set_detail", args=[question_set.pk])).content.decode()
        assert "Bar-Hillel and Attali, 2001" in page
        rows = [row.split("</tr>")[0] for row in page.split('<th scope="row">')[1:]]
        counts = {row[0]: row.split('class="num">')[1].split("<")[0] for row in rows if row[1:6] == "</th>"}
        assert counts == {"A": "2", "B": "1", "C": "0", "D": "0", "E": "0"}
