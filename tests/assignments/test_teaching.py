"""What to teach next: patterns named, mistakes ranked, and practice sent to those who need it and nobody else."""

from __future__ import annotations

import pytest
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from accounts.services.classes import archive_class
from assignments.diagnosis import Finding, count_mistakes, find_habits, lessons_from
from assignments.habits import Belief
from assignments.models import Addressee, Assignment, QuestionSet
from assignments.results import results_of
from tests.assignments.factories import NOON, make_assignment, make_question, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.django_db
KEYS = "CCCCCCCCCC"  # so D stands for slid, E for not opened, A for the wrong line, B for the punch turned


@pytest.fixture
def assignment(school_class: SchoolClass) -> Assignment:
    """Ten questions. Ann slides six times; Bo errs in four ways; Cy is all right; Di has left one out."""
    assignment = make_assignment(school_class, KEYS, allowance=600)
    for name, choices in (("Ann", "DDDDDDCCCC"), ("Bo", "DEABCCCCCC"), ("Cy", "CCCCCCCCCC"), ("Di", "DDDDDDDDD-")):
        mate = make_pupil(school_class.school, name)
        enrol(mate, school_class)
        make_sitting(assignment, mate, choices=choices)
    return assignment


def named(assignment: Assignment, name: str) -> User:
    return assignment.sittings.get(pupil__name=name).pupil


def send(client, assignment: Assignment, kind: str = "slid", *names: str):
    pupils = [named(assignment, name).pk for name in names]
    address = reverse("assignments:practice", args=[assignment.pk])
    return client.post(address, {"kind": kind, "pupil": pupils}, follow=True)


def test_each_pupil_gets_a_sentence(assignment: Assignment) -> None:
    findings = find_habits((row.pupil, row.marks) for row in results_of(assignment).sat)
    assert [finding.says for finding in findings] == [
        "Very likely (99 %): slid, not mirrored. Chosen 6 of 10 times offered.",
        "No pattern in 4 wrong choices.",
        "No mistake in what was answered.",
        "9 answers: too few to judge.",
    ]


def test_what_pupils_do_again_and_again_comes_before_what_was_chosen_once(assignment: Assignment) -> None:
    marked = [(row.pupil, row.marks) for row in results_of(assignment).sat]
    lessons = lessons_from(count_mistakes(marked), find_habits(marked))
    assert [(one.mistake.kind, len(one.habitual), one.mistake.count) for one in lessons] == [
        ("slid", 1, 16),
        ("not-opened", 0, 1),
        ("turned-punch", 0, 1),
        ("wrong-line", 0, 1),
    ]


def test_without_a_pattern_it_names_the_mistake_made_more_than_once() -> None:
    few = Belief(answers=12, none=0.9, habits={"slid": 0.1})
    said = [Finding("Ann", few, wrong=5, most=("slid", times)).says for times in (1, 3)]
    assert said == [
        "No pattern in 5 wrong choices.",
        "No pattern in 5 wrong choices. Most often: slid, not mirrored, 3 times.",
    ]


class TestThePage:
    def page(self, client, assignment: Assignment) -> html.HtmlElement:
        return html.fromstring(client.get(reverse("assignments:teach", args=[assignment.pk])).content.decode())

    def test_it_links_to_the_questions_the_slips_and_the_board(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        first = self.page(client_of(teacher), assignment).xpath("//ol[@class='lessons']/li")[0]
        links = first.xpath(".//ul[@class='shown-by']//a/@href")
        question = assignment.questions.first()
        ann = named(assignment, "Ann")
        assert reverse("assignments:result_review", args=[assignment.pk, ann.pk, 1]) in links
        assert reverse("assignments:result_board", args=[assignment.pk, question.position]) in links
        assert reverse("assignments:result", args=[assignment.pk]) + "?question=1#question" in links

    def test_it_says_first_what_to_teach_and_ticks_who_needs_practice(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        page = self.page(client_of(teacher), assignment)
        lead = " ".join(page.xpath("//p[contains(@class, 'lead')]")[0].text_content().split())
        assert lead.startswith("First for the class: slid, not mirrored. 3 of 4 pupils made it, 2 of them more than")
        boxes = page.xpath("//ol[@class='lessons']/li")[0].xpath(".//input[@name='pupil']")
        ticked = {one.get("value") for one in boxes if one.get("checked")}
        assert len(boxes) == 3
        assert ticked == {str(named(assignment, "Ann").pk)}

    def test_those_with_too_few_answers_are_named_in_one_sentence(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        make_sitting(assignment, make_pupil(teacher.school, "Short"), choices="DDE")
        page = self.page(client_of(teacher), assignment)
        (few,) = page.xpath("//p[contains(@class, 'few')]")
        assert " ".join(few.text_content().split()) == "Fewer than 10 answers, too few to judge: Di, Short."
        assert "Short" not in [name.text_content() for name in page.xpath("//dl[@class='findings']//dt")]

    def test_it_says_that_a_pattern_is_no_finding_about_a_child(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        said = " ".join(self.page(client_of(teacher), assignment).text_content().split())
        assert "not a finding about a child" in said
        assert "Practice scores are not a standardised measure of ability." in said

    def test_the_administrator_sees_it_without_the_button(
        self, client_of, administrator: User, assignment: Assignment
    ) -> None:
        page = self.page(client_of(administrator), assignment)
        assert page.xpath("//ol[@class='lessons']/li")
        assert not page.xpath("//main//form")

    def test_practice_is_offered_for_those_alone_who_are_still_in_the_class_and_while_it_is_in_use(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        """What it refused to send as soon as one of those ticked had left."""
        client, ann = client_of(teacher), named(assignment, "Ann")
        own = reverse("assignments:result_pupil", args=[assignment.pk, ann.pk])
        assert "Send practice" in client.get(own).content.decode()
        ann.enrolments.all().delete()
        slid = self.page(client, assignment).xpath("//ol[@class='lessons']/li")[0]
        offered = {int(one) for one in slid.xpath(".//input[@name='pupil']/@value")}
        assert offered == {named(assignment, name).pk for name in ("Bo", "Di")}
        assert "Send practice" not in client.get(own).content.decode()
        archive_class(school_class=assignment.school_class, by=teacher, at=NOON)
        assert not self.page(client, assignment).xpath("//main//form")
        sent = send(client, assignment, "slid", "Bo")  # from a page that was open before
        assert "is archived: nothing can be sent to it" in sent.content.decode()
        assert Assignment.objects.get() == assignment

    def test_it_costs_the_same_whatever_the_class(
        self, client_of, teacher: User, assignment: Assignment, django_assert_num_queries
    ) -> None:
        client, address = client_of(teacher), reverse("assignments:teach", args=[assignment.pk])
        for _ in range(2):
            with django_assert_num_queries(11):
                client.get(address)
            for _ in range(5):
                make_sitting(assignment, make_pupil(teacher.school), choices="DDEEAABBCC")


class TestPractice:
    def test_it_goes_to_those_named_and_to_nobody_else(self, client_of, teacher: User, assignment: Assignment) -> None:
        send(client_of(teacher), assignment, "slid", "Ann", "Bo")
        made = Assignment.objects.first()
        assert set(Addressee.objects.values_list("pupil__name", flat=True)) == {"Ann", "Bo"}
        assert made.for_some
        assert made.questions.count() == 8
        for name, there in (("Ann", True), ("Bo", True), ("Cy", False)):
            sees = Assignment.objects.visible_to(named(assignment, name)).contains(made)
            assert sees is there
        address = reverse("assignments:start", args=[made.pk])
        assert client_of(named(assignment, "Ann")).get(address).status_code == 200
        assert client_of(named(assignment, "Cy")).get(address).status_code == 404
        assert [pupil.name for pupil in results_of(made).absent] == ["Ann", "Bo"]

    def test_every_question_offers_just_that_mistake_and_new_ones_come_first(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        new = [make_question(teacher.school, key="A", level=5) for _ in range(3)]
        make_question(teacher.school, key="B", state="draft")
        send(client_of(teacher), assignment, "slid", "Ann")
        asked = [one.version for one in Assignment.objects.first().questions.select_related("version")]
        assert [version.question_id for version in asked[:3]] == [question.pk for question in new]
        assert all(
            any({made["kind"] for made in option["mistakes"]} == {"slid"} for option in version.options["options"])
            for version in asked
        )

    def test_its_title_does_not_tell_the_mistake(self, client_of, teacher: User, assignment: Assignment) -> None:
        for _ in range(2):
            send(client_of(teacher), assignment, "slid", "Ann")
        titles = list(QuestionSet.objects.filter(title__startswith="Practice").values_list("title", flat=True))
        assert len(set(titles)) == 2
        assert not any("lid" in title for title in titles)

    @pytest.mark.parametrize(
        ("kind", "names", "says"),
        [
            ("swapped", ["Ann"], "The bank has no ready questions that offer this mistake alone"),
            ("no such", ["Ann"], "There is no such mistake. Nothing was sent."),
            ("slid", [], "Choose a pupil. Nothing was sent."),
        ],
    )
    def test_what_cannot_be_sent_is_said_and_nothing_is(
        self, client_of, teacher: User, assignment: Assignment, kind: str, names: list[str], says: str
    ) -> None:
        assert says in send(client_of(teacher), assignment, kind, *names).content.decode()
        assert Assignment.objects.count() == 1

    def test_a_pupil_of_another_class_gets_nothing(
        self, client_of, teacher: User, assignment: Assignment, other_pupil: User
    ) -> None:
        address = reverse("assignments:practice", args=[assignment.pk])
        client_of(teacher).post(address, {"kind": "slid", "pupil": [other_pupil.pk]})
        assert Assignment.objects.count() == 1

    def test_with_its_pupil_erased_it_is_nobodys_and_not_the_classs(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        send(client_of(teacher), assignment, "slid", "Ann")
        made = Assignment.objects.first()
        Addressee.objects.all().delete()
        assert not Assignment.objects.visible_to(named(assignment, "Cy")).contains(made)
