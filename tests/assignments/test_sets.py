"""Sets: making, picking from the bank, order, taking out, retiring."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.models import School, User
from assignments.models import QuestionSet
from assignments.services import sets
from bank.models import State
from tests.assignments.factories import make_question, make_set

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


def numbers(question_set: QuestionSet) -> list[int]:
    return [entry.question.number for entry in question_set.entries.select_related("question").order_by("position")]


def positions(question_set: QuestionSet) -> list[int]:
    return sorted(question_set.entries.values_list("position", flat=True))


@pytest.fixture
def five(school: School) -> QuestionSet:
    return make_set(school, [make_question(school) for _ in range(5)])


def entry(question_set: QuestionSet, position: int) -> int:
    return question_set.entries.get(position=position).pk


class TestOrder:
    @pytest.mark.parametrize(
        ("position", "by_places", "after"),
        [(1, -1, "01234"), (1, 1, "10234"), (3, -1, "02134"), (5, 1, "01234"), (5, -1, "01243")],
    )
    def test_up_and_down(self, five: QuestionSet, position: int, by_places: int, after: str) -> None:
        before = numbers(five)
        sets.move_entry(question_set=five, entry_id=entry(five, position), by_places=by_places)
        assert numbers(five) == [before[int(place)] for place in after]
        assert positions(five) == [1, 2, 3, 4, 5]

    @pytest.mark.parametrize(
        ("typed", "after"),
        [
            ({5: 2}, "04123"),  # before the one that has the number
            ({1: 4}, "12304"),  # after it
            ({1: 99}, "12340"),
            ({5: 1, 1: 5}, "41230"),
            ({}, "01234"),
            ({2: 4, 3: 4}, "03124"),  # two to one place keep their own order
        ],
    )
    def test_typed_numbers(self, five: QuestionSet, typed: dict[int, int], after: str) -> None:
        before = numbers(five)
        by_entry = {entry(five, position): number for position, number in typed.items()}
        sets.order_entries(question_set=five, numbers=by_entry)
        assert numbers(five) == [before[int(place)] for place in after]

    def test_taking_one_out_closes_the_gap(self, five: QuestionSet) -> None:
        sets.remove_entry(question_set=five, entry_id=entry(five, 2))
        assert positions(five) == [1, 2, 3, 4]

    def test_an_entry_of_another_set_is_left_alone(self, five: QuestionSet, school: School) -> None:
        other = make_set(school, [make_question(school)])
        sets.remove_entry(question_set=five, entry_id=entry(other, 1))
        sets.move_entry(question_set=five, entry_id=entry(other, 1), by_places=1)
        assert other.entries.count() == 1


class TestAdding:
    def test_new_ones_come_last_and_those_there_stay(self, five: QuestionSet, school: School) -> None:
        new, there = make_question(school), five.entries.first().question
        assert sets.add_questions(question_set=five, questions=[there, new]) == 1
        assert numbers(five)[-1] == new.number
        assert positions(five) == [1, 2, 3, 4, 5, 6]

    def test_one_that_is_not_ready_keeps_all_out_and_says_why(self, five: QuestionSet, school: School) -> None:
        good = make_question(school)
        bad = make_question(school, state=State.DRAFT, failing="Options B and D look alike.")
        with pytest.raises(sets.QuestionsNotReady) as refusal:
            sets.add_questions(question_set=five, questions=[good, bad])
        assert f"Question {bad.number}: Options B and D look alike." in str(refusal.value)
        assert five.entries.count() == 5

    def test_a_set_has_an_end(self, five: QuestionSet, school: School, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(sets, "MOST_QUESTIONS", 6)
        with pytest.raises(sets.SetError, match="at most 6"):
            sets.add_questions(question_set=five, questions=[make_question(school), make_question(school)])
        assert five.entries.count() == 5


class TestPages:
    def test_a_title_makes_a_set_and_leads_to_the_bank(self, client_of, teacher: User) -> None:
        response = client_of(teacher).post(reverse("assignments:set_new"), {"title": "  Two   folds "})
        made = QuestionSet.objects.get()
        assert (made.title, made.author, made.school) == ("Two folds", teacher, teacher.school)
        assert response["Location"] == reverse("assignments:set_add", args=[made.pk])

    @pytest.mark.parametrize("title", ["", "   ", "\u202e", "x" * 81, "a\x00b"])
    def test_a_bad_title_is_answered_beside_the_field_and_kept(self, client_of, teacher: User, title: str) -> None:
        response = client_of(teacher).post(reverse("assignments:set_new"), {"title": title})
        assert response.status_code == 400
        assert 'class="error"' in response.content.decode()
        assert not QuestionSet.objects.exists()

    def test_hostile_titles_are_text(self, client_of, teacher: User) -> None:
        title = '<script>alert("1")</script>'
        client = client_of(teacher)
        client.post(reverse("assignments:set_new"), {"title": title})
        page = client.get(reverse("assignments:sets")).content.decode()
        assert title not in page
        assert "&lt;script&gt;" in page

    def test_only_ready_questions_are_offered_filtered_by_tag_folds_and_level(
        self, client_of, teacher: User, school: School, other_school: School
    ) -> None:
        wanted = make_question(school, tags=("diagonal",), level=4)
        make_question(school, tags=("diagonal",), level=1)
        make_question(school, level=4)
        make_question(school, tags=("diagonal",), level=4, state=State.DRAFT)
        make_question(other_school, tags=("diagonal",), level=4)
        address = reverse("assignments:set_add", args=[make_set(school, []).pk])
        tag = wanted.tags.get().pk
        response = client_of(teacher).get(f"{address}?tag={tag}&level=4&folds=1")
        assert [row["question"] for row in response.context["rows"]] == [wanted]

    def test_ticked_questions_are_added(self, client_of, teacher: User, school: School) -> None:
        first, second = make_question(school), make_question(school)
        question_set = make_set(school, [])
        address = reverse("assignments:set_add", args=[question_set.pk])
        client_of(teacher).post(address, {"question": [second.pk, first.pk]})
        assert numbers(question_set) == [first.number, second.number]

    @pytest.mark.parametrize("ticked", [[], ["x"], ["0"], ["99999999999999999999"]])
    def test_bad_ticks_are_refused_in_words(self, client_of, teacher: User, school: School, ticked: list) -> None:
        question_set = make_set(school, [])
        address = reverse("assignments:set_add", args=[question_set.pk])
        response = client_of(teacher).post(address, {"question": ticked})
        assert response.status_code == 400
        assert 'role="alert"' in response.content.decode()

    def test_another_schools_question_is_refused(
        self, client_of, teacher: User, school: School, other_school: School
    ) -> None:
        question_set = make_set(school, [])
        address = reverse("assignments:set_add", args=[question_set.pk])
        assert client_of(teacher).post(address, {"question": make_question(other_school).pk}).status_code == 400
        assert not question_set.entries.exists()

    def test_the_buttons_work_without_script(self, client_of, teacher: User, five: QuestionSet) -> None:
        before = numbers(five)
        address = reverse("assignments:set_order", args=[five.pk])
        client_of(teacher).post(address, {"move": f"down-{entry(five, 1)}"})
        assert numbers(five) == [before[1], before[0], *before[2:]]

    def test_so_do_the_number_fields(self, client_of, teacher: User, five: QuestionSet) -> None:
        before = numbers(five)
        fields = {f"position-{one.pk}": 6 - one.position for one in five.entries.all()}
        client_of(teacher).post(reverse("assignments:set_order", args=[five.pk]), fields)
        assert numbers(five) == before[::-1]

    @pytest.mark.parametrize("number", ["0", "-1", "two", "101", "1e9", "٣x"])
    def test_a_bad_number_is_kept_in_its_field_and_the_order_stays(
        self, client_of, teacher: User, five: QuestionSet, number: str
    ) -> None:
        before = numbers(five)
        field = f"position-{entry(five, 1)}"
        response = client_of(teacher).post(reverse("assignments:set_order", args=[five.pk]), {field: number})
        assert response.status_code == 400
        assert f'value="{number}"' in response.content.decode()
        assert numbers(five) == before

    def test_retired_sets_leave_the_list_and_come_back(self, client_of, teacher: User, five: QuestionSet) -> None:
        client = client_of(teacher)
        client.post(reverse("assignments:set_retire", args=[five.pk]))
        assert five.title in client.get(reverse("assignments:sets") + "?retired=1").content.decode()
        assert list(client.get(reverse("assignments:sets")).context["page"]) == []
        client.post(reverse("assignments:set_restore", args=[five.pk]))
        assert list(client.get(reverse("assignments:sets")).context["page"]) == [five]

    def test_it_tells_the_predicted_time(self, client_of, teacher: User, five: QuestionSet) -> None:
        """Thirty seconds a question: common practice, no published source."""
        page = client_of(teacher).get(reverse("assignments:set_detail", args=[five.pk])).content.decode()
        assert "2 minutes 30 seconds" in page

    @pytest.mark.parametrize("who", ["administrator", "pupil", "stranger"])
    def test_who_may_not_change_sets(self, request, client_of, five: QuestionSet, who: str) -> None:
        client = client_of(request.getfixturevalue(who))
        address = reverse("assignments:set_remove", args=[five.pk])
        status = client.post(address, {"entry": entry(five, 1)}).status_code
        assert status == (404 if who == "stranger" else 403)
        assert five.entries.count() == 5

    def test_whoever_may_only_look_has_no_form_to_order_the_set(
        self, client_of, administrator: User, teacher: User, five: QuestionSet
    ) -> None:
        page, order = (reverse(f"assignments:{name}", args=[five.pk]) for name in ("set_detail", "set_order"))
        assert order in client_of(teacher).get(page).content.decode()
        assert order not in client_of(administrator).get(page).content.decode()
        sets.retire_set(question_set=five, at=five.created_at)
        assert order not in client_of(teacher).get(page).content.decode()

    def test_heads_may(self, client_of, head: User, five: QuestionSet) -> None:
        client_of(head).post(reverse("assignments:set_remove", args=[five.pk]), {"entry": entry(five, 1)})
        assert five.entries.count() == 4

    def test_the_queries_do_not_grow_with_the_set(
        self, client_of, teacher: User, school: School, django_assert_num_queries
    ) -> None:
        client = client_of(teacher)
        client.get(reverse("assignments:sets"))
        for size in (2, 9):
            question_set = make_set(school, [make_question(school, tags=("a", "b")) for _ in range(size)])
            with django_assert_num_queries(9):
                client.get(reverse("assignments:set_detail", args=[question_set.pk]))
