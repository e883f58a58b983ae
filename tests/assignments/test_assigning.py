"""Sending a set to a class, all or nothing (R14), and changing what was sent."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from lxml import html

from accounts.models import School, SchoolClass, User
from assignments.errors import AssignmentError, QuestionsNotReady, SetError
from assignments.models import AssignedQuestion, Assignment, ExtraTime, Feedback, QuestionSet
from assignments.queries import pupils_of
from assignments.services.assigning import Terms, assign_set, change_closing, take_back
from assignments.services.sittings import finish_sitting, start_sitting
from bank.models import Question, State
from tests.assignments.factories import NOON, make_assignment, make_question, make_set, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
TERMS = Terms(opens_at=NOON, closes_at=NOON + timedelta(days=1), allowance=90)


@pytest.fixture
def question_set(school: School) -> QuestionSet:
    return make_set(school, [make_question(school, key=key) for key in "CAE"])


def send(question_set: QuestionSet, school_class: SchoolClass, teacher: User, terms: Terms = TERMS) -> Assignment:
    return assign_set(question_set=question_set, school_class=school_class, terms=terms, by=teacher)


class TestSending:
    def test_it_fixes_versions_order_and_title(
        self, question_set: QuestionSet, school_class: SchoolClass, teacher: User
    ) -> None:
        assignment = send(question_set, school_class, teacher)
        asked = assignment.questions.order_by("position")
        entries = question_set.entries.order_by("position")
        assert [one.version_id for one in asked] == [entry.question.current_id for entry in entries]
        question_set.title = "Renamed"
        question_set.save()
        assignment.refresh_from_db()
        assert assignment.title == "Thursday set"

    def test_a_question_that_is_not_ready_stops_all_and_is_named(
        self, question_set: QuestionSet, school_class: SchoolClass, teacher: User
    ) -> None:
        drafted = question_set.entries.get(position=2).question
        Question.objects.filter(pk=drafted.pk).update(state=State.DRAFT)
        with pytest.raises(QuestionsNotReady, match=f"Question {drafted.number}: it is still a draft."):
            send(question_set, school_class, teacher)
        assert not Assignment.objects.exists()
        assert not AssignedQuestion.objects.exists()

    def test_r14_when_the_last_step_fails_nothing_stays(
        self, question_set: QuestionSet, school_class: SchoolClass, teacher: User, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fail(*args: object) -> None:
            raise RuntimeError("the power is out")

        monkeypatch.setattr("assignments.services.assigning._keep_extra_times", fail)
        with pytest.raises(RuntimeError):
            send(question_set, school_class, teacher)
        assert not Assignment.objects.exists()

    def test_an_empty_or_retired_set_is_refused(self, school: School, school_class: SchoolClass, teacher: User) -> None:
        empty = make_set(school, [])
        with pytest.raises(SetError, match="no questions yet"):
            send(empty, school_class, teacher)
        empty.retired_at = NOON
        empty.save()
        with pytest.raises(SetError, match="retired"):
            send(empty, school_class, teacher)

    def test_extra_time_is_kept_where_it_differs_from_what_is_agreed(
        self, question_set: QuestionSet, school_class: SchoolClass, teacher: User
    ) -> None:
        agreed, other, none = (make_pupil(school_class.school, extra_time=percent) for percent in (25, 25, 0))
        for pupil in (agreed, other, none):
            enrol(pupil, school_class)
        extra = {agreed.pk: 25, other.pk: 40, none.pk: 0, 10**6: 50}
        send(question_set, school_class, teacher, Terms(NOON, NOON + timedelta(days=1), 90, extra_times=extra))
        assert list(ExtraTime.objects.values_list("pupil", "percent")) == [(other.pk, 40)]


class TestTheForm:
    @pytest.fixture
    def address(self, question_set: QuestionSet) -> str:
        return reverse("assignments:assign", args=[question_set.pk])

    def fields(self, school_class: SchoolClass, **changed: object) -> dict:
        fields = {
            "class": school_class.pk,
            "opens_at": "2026-05-14T13:00",
            "closes_at": "2026-05-21T15:30",
            "allowance": "1:30",
            "feedback": "after_close",
            "shuffle_options": "on",
        }
        fields |= {f"extra-{e.pupil_id}": e.pupil.extra_time for e in school_class.enrolments.select_related("pupil")}
        return {name: value for name, value in (fields | changed).items() if value is not None}

    @pytest.fixture
    def client(self, client_of, teacher: User, set_clock, pupil: User):
        set_clock(NOON)
        return client_of(teacher)

    def test_it_is_filled_in_with_common_practice_and_what_is_agreed(
        self, client, address: str, school_class: SchoolClass
    ) -> None:
        pupil = make_pupil(school_class.school, extra_time=25)
        enrol(pupil, school_class)
        form = client.get(address).context["form"]
        assert form["allowance"].value() == "1:30"  # 3 questions of 30 seconds
        assert form[f"extra-{pupil.pk}"].value() == 25
        assert form["opens_at"].value() == "2026-05-14T13:00"  # noon in UTC is one o'clock on the school's wall

    def test_what_is_typed_is_what_is_sent(self, client, address: str, school_class: SchoolClass) -> None:
        client.post(address, self.fields(school_class, feedback="now", closing_cuts="on", shuffle_questions="on"))
        made = Assignment.objects.get()
        assert made.opens_at == NOON
        assert made.closes_at == datetime(2026, 5, 21, 14, 30, tzinfo=UTC)
        assert (made.allowance, made.feedback) == (90, Feedback.NOW)
        assert (made.closing_cuts, made.shuffle_questions, made.shuffle_options) == (True, True, True)

    def test_it_goes_to_those_ticked_only(self, client, address: str, school_class: SchoolClass, pupil: User) -> None:
        """A child who was away sits it later: the page of results names those who have still to sit it."""
        other = make_pupil(school_class.school)
        enrol(other, school_class)
        asked = client.get(f"{address}?class={school_class.pk}&only={pupil.pk}")
        page = html.fromstring(asked.content)
        assert page.xpath("//input[@name='only'][@checked]/@value") == [str(pupil.pk)]
        client.post(address, self.fields(school_class, only=[pupil.pk]))
        made = Assignment.objects.get()
        assert list(pupils_of(made)) == [pupil]
        assert made not in Assignment.objects.visible_to(other)

    def test_nobody_ticked_and_all_ticked_is_the_class(
        self, client, address: str, school_class: SchoolClass, pupil: User
    ) -> None:
        for only in ([], [pupil.pk]):
            client.post(address, self.fields(school_class, only=only))
        assert not Assignment.objects.filter(for_some=True).exists()
        assert Assignment.objects.count() == 2

    BAD = [
        ("only", "0", "is not in this class now"),
        ("closes_at", "2026-05-14T12:59", "This time has passed"),
        ("closes_at", "2036-05-14T12:59", "more than a year away"),
        ("closes_at", "9999-12-31T23:59", "Write a date and a time"),
        ("opens_at", "0001-01-01T00:00", "Write a date and a time"),
        ("opens_at", "2026-05-14T13:00+02:00", "Write a date and a time"),
        ("opens_at", "yesterday", "Write a date and a time"),
        ("opens_at", "", "Write a date and a time"),
        ("opens_at", "2026-03-29T01:30", "01:30 never comes"),
        ("allowance", "0", "at least 0:10"),
        ("allowance", "-5", "Write minutes and seconds"),
        ("allowance", "1000000000", "Write minutes and seconds"),
        ("allowance", "999999", "at most 4 hours"),
        ("allowance", "1:75", "Write minutes and seconds"),
        ("allowance", "٣:٠٠", "Write minutes and seconds"),
        ("feedback", "sometimes", "is not offered. Choose another."),
    ]

    @pytest.mark.parametrize(("field", "typed", "says"), BAD, ids=lambda value: str(value)[:24])
    def test_bad_fields_are_answered_beside_them_and_nothing_typed_is_lost(
        self, client, address: str, school_class: SchoolClass, field: str, typed: str, says: str
    ) -> None:
        response = client.post(address, self.fields(school_class, **{field: typed}))
        page = response.content.decode()
        assert response.status_code == 400
        assert says in " ".join(response.context["form"].errors[field])
        assert not typed or field in ("feedback", "only") or f'value="{typed}"' in page
        assert not Assignment.objects.exists()

    def test_it_cannot_close_before_it_opens(self, client, address: str, school_class: SchoolClass) -> None:
        response = client.post(address, self.fields(school_class, opens_at="2026-05-21T15:30"))
        assert response.status_code == 400
        assert "would close before it opens" in response.context["form"].errors["closes_at"][0]

    @pytest.mark.parametrize("percent", ["-10", "900", "", "a quarter"])
    def test_bad_extra_time_is_answered_beside_the_pupil(
        self, client, address: str, school_class: SchoolClass, pupil: User, percent: str
    ) -> None:
        response = client.post(address, self.fields(school_class, **{f"extra-{pupil.pk}": percent}))
        assert response.status_code == 400
        assert response.context["form"].errors[f"extra-{pupil.pk}"]
        assert not Assignment.objects.exists()

    def test_the_top_of_the_page_leads_to_what_is_to_mend_and_only_extra_time_is_marked_as_such(
        self, client, address: str, school_class: SchoolClass, pupil: User
    ) -> None:
        plain = make_pupil(school_class.school, "Plain")
        enrol(plain, school_class)
        faulty = {"allowance": "soon", f"extra-{pupil.pk}": "900"}
        page = html.fromstring(client.post(address, self.fields(school_class, **faulty)).content.decode())
        links = page.xpath("//*[@role='alert']//a/@href")
        assert links == ["#id_allowance", f"#id_extra-{pupil.pk}"]
        assert all(page.xpath(f"//*[@id='{link[1:]}'][@aria-invalid='true']") for link in links)
        marked = page.xpath("//ul[@class='extra-times']/li[@class='has-extra']/label")
        assert [label.text_content() for label in marked] == [pupil.name]

    def test_an_hour_that_comes_twice_is_accepted_and_said(
        self, client, address: str, school_class: SchoolClass, set_clock
    ) -> None:
        set_clock(datetime(2026, 10, 20, 8, 0, tzinfo=UTC))
        fields = self.fields(school_class, opens_at="2026-10-25T01:10", closes_at="2026-10-25T01:30")
        page = client.post(address, fields, follow=True).content.decode()
        made = Assignment.objects.get()
        assert made.opens_at == datetime(2026, 10, 25, 0, 10, tzinfo=UTC)
        assert made.closes_at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
        assert "01:10 comes twice. The first of the two is meant (BST)." in page
        assert "01:30 comes twice. The second of the two is meant (GMT)." in page

    def test_what_is_not_ready_is_named_before_anything_is_typed(
        self, client, address: str, question_set: QuestionSet, school_class: SchoolClass
    ) -> None:
        drafted = question_set.entries.first().question
        Question.objects.filter(pk=drafted.pk).update(state=State.RETIRED)
        page = client.get(address).content.decode()
        assert f"Question {drafted.number}" in page
        assert "it is retired." in page
        assert client.post(address, self.fields(school_class)).status_code == 409
        assert not Assignment.objects.exists()

    def test_a_class_one_does_not_take_is_not_found(
        self, client, address: str, other_class: SchoolClass, foreign_class: SchoolClass
    ) -> None:
        for school_class in (other_class, foreign_class):
            assert client.post(address, self.fields(school_class)).status_code == 404
        assert client.get(f"{address}?class=x").status_code == 404
        assert not Assignment.objects.exists()

    def test_a_head_may_send_to_any_class_of_the_school(
        self, client_of, head: User, address: str, other_class: SchoolClass, set_clock
    ) -> None:
        set_clock(NOON)
        client_of(head).post(address, self.fields(other_class))
        assert Assignment.objects.get().school_class == other_class

    def test_of_several_classes_one_is_chosen_first(
        self, client, client_of, head: User, address: str, school_class: SchoolClass, other_class: SchoolClass
    ) -> None:
        page = client_of(head).get(address).content.decode()
        assert school_class.name in page
        assert f"?class={other_class.pk}" in page


class TestChanging:
    @pytest.fixture
    def assignment(self, school_class: SchoolClass) -> Assignment:
        return make_assignment(school_class)

    def test_nor_when_the_class_can_see_the_answers(self, assignment: Assignment, pupil: User) -> None:
        make_sitting(assignment, pupil)
        after = assignment.closes_at + timedelta(minutes=1)
        with pytest.raises(AssignmentError, match="can already see the answers"):
            change_closing(assignment=assignment, closes_at=after + timedelta(days=1), at=after)

    def test_the_closing_time_moves_both_ways(self, assignment: Assignment, pupil: User) -> None:
        soon = NOON + timedelta(minutes=1)
        change_closing(assignment=assignment, closes_at=soon, at=NOON)
        assignment.refresh_from_db()
        assert not assignment.is_open(soon)
        with pytest.raises(AssignmentError, match="before it opens"):
            change_closing(assignment=assignment, closes_at=NOON, at=NOON)

    def test_moved_later_it_lets_those_it_cut_off_go_on(self, school_class: SchoolClass, pupil: User) -> None:
        closes = NOON + timedelta(seconds=30)
        assignment = make_assignment(school_class, closes_at=closes, closing_cuts=True, feedback=Feedback.NEVER)
        sitting = make_sitting(assignment, pupil)
        finish_sitting(sitting=sitting, at=closes + timedelta(seconds=1))
        change_closing(assignment=assignment, closes_at=NOON + timedelta(hours=1), at=closes + timedelta(seconds=2))
        again = start_sitting(assignment=assignment, pupil=pupil, device="tablet", at=closes + timedelta(seconds=3))
        assert again.pk == sitting.pk
        assert again.is_running(closes + timedelta(seconds=3))

    def test_what_nobody_started_can_be_taken_back(self, assignment: Assignment) -> None:
        take_back(assignment=assignment)
        assert not Assignment.objects.exists()
        assert QuestionSet.objects.exists()

    def test_what_somebody_started_cannot(self, assignment: Assignment, pupil: User) -> None:
        make_sitting(assignment, pupil)
        with pytest.raises(AssignmentError, match="A pupil has started"):
            take_back(assignment=assignment)
        assert Assignment.objects.exists()


class TestThePageOfChanges:
    @pytest.fixture
    def assignment(self, school_class: SchoolClass) -> Assignment:
        return make_assignment(school_class)

    def post(self, client, assignment: Assignment, **fields: str):
        return client.post(reverse("assignments:change", args=[assignment.pk]), fields)

    def test_each_deed_by_its_button(self, client_of, teacher: User, assignment: Assignment, set_clock) -> None:
        set_clock(NOON)
        client = client_of(teacher)
        self.post(client, assignment, deed="closing", closes_at="2026-05-16T09:00")
        assignment.refresh_from_db()
        assert assignment.closes_at == datetime(2026, 5, 16, 8, 0, tzinfo=UTC)
        self.post(client, assignment, deed="take_back")
        assert not Assignment.objects.exists()

    @pytest.mark.parametrize(
        "fields",
        [{"deed": "closing", "closes_at": "soon"}, {"deed": "burn"}, {}],
    )
    def test_bad_input_changes_nothing(
        self, client_of, teacher: User, assignment: Assignment, set_clock, fields: dict
    ) -> None:
        set_clock(NOON)
        before = Assignment.objects.values().get()
        assert self.post(client_of(teacher), assignment, **fields).status_code in (400, 409)
        assert Assignment.objects.values().get() == before

    def test_others_cannot(
        self, client_of, other_teacher: User, stranger: User, administrator: User, assignment: Assignment
    ) -> None:
        for person, status in ((other_teacher, 404), (stranger, 404), (administrator, 403)):
            assert self.post(client_of(person), assignment, deed="take_back").status_code == status
        assert Assignment.objects.exists()
