"""Results for adults: the table of a class, one pupil's sitting, and an answer gone over."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from lxml import html

from accounts.models import Enrolment, School, SchoolClass, User
from assignments.models import Addressee, Assignment
from assignments.results import results_of
from assignments.templatetags.figures import figure, mark, signed
from bank.models import Question
from tests.assignments.factories import MISTAKES, NOON, choose, make_assignment, make_question, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
CAUTION = "Practice scores are not a standardised measure of ability."


def words(element: html.HtmlElement) -> str:
    return " ".join(element.text_content().split())


@pytest.fixture
def assignment(school_class: SchoolClass, pupil: User) -> Assignment:
    """Keys C A E. Ann: all right. Bo: C B -, one wrong. Cy: D A E. Fenna is absent."""
    assignment = make_assignment(school_class)
    finished = NOON + timedelta(seconds=60)
    for name, choices in (("Bo", "CB"), ("Ann", "CAE"), ("Cy", "DAE")):
        mate = make_pupil(school_class.school, name)
        enrol(mate, school_class)
        make_sitting(assignment, mate, choices=choices, finished_at=finished)
    return assignment


def named(assignment: Assignment, name: str) -> User:
    return assignment.sittings.get(pupil__name=name).pupil


@pytest.mark.parametrize(
    ("shown", "says"),
    [
        (figure(-0.126, 2), "−0.13"),
        (figure(None, 2), "–"),
        (figure(-0.001, 2), "0.00"),
        (mark(7.5), "7.5"),
        (mark(-0.25), "−0.25"),
        (mark(10), "10"),
        (signed(3.4), "+3"),
        (signed(0.4), "0"),
        (signed(-3), "−3"),
    ],
)
def test_figures_have_a_minus_sign_and_no_more_than_is_there(shown: str, says: str) -> None:
    """The sign is U+2212 (Unicode character database: MINUS SIGN), not the hyphen of a keyboard."""
    assert shown == says


@pytest.mark.parametrize("page", ["results", "question_figures", "set_comparison"])
def test_a_filter_that_cannot_be_used_lists_nothing(
    client_of, teacher: User, assignment: Assignment, page: str
) -> None:
    answer = client_of(teacher).get(reverse(f"assignments:{page}"), {"since": "2026-05-15", "until": "2026-05-14"})
    assert answer.status_code == 400
    said = words(html.fromstring(answer.content))
    assert "Nothing is listed while a filter cannot be used." in said
    assert assignment.title not in said.replace("All sets Thursday set", "")


class TestFigures:
    def test_facility_is_the_share_of_sittings_that_were_right(self, assignment: Assignment) -> None:
        """By hand: question 1 right by two of three, 2 by two of three, 3 by two of three (left out counts as not)."""
        assert [column.facility for column in results_of(assignment).columns] == [2 / 3, 2 / 3, 2 / 3]

    def test_the_median_of_1_2_3_is_2(self, assignment: Assignment) -> None:
        assert [row.marks.right for row in results_of(assignment).sat] == [3, 1, 2]
        assert results_of(assignment).median_mark == 2

    def test_choices_are_counted_by_the_versions_letter(self, assignment: Assignment) -> None:
        first, _, third = results_of(assignment).columns
        assert dict(first.chosen) == {"C": 2, "D": 1}
        assert dict(third.chosen) == {"E": 2, "": 1}

    def test_before_anybody_sat_there_are_no_figures(self, school_class: SchoolClass, pupil: User) -> None:
        results = results_of(make_assignment(school_class))
        assert [column.facility for column in results.columns] == [None, None, None]
        assert (results.median_mark, results.mean_facility, results.absent) == (None, None, [pupil])

    def test_a_pupil_who_left_the_class_keeps_the_sitting(self, assignment: Assignment) -> None:
        assignment.school_class.enrolments.filter(pupil__name="Cy").delete()
        assert [row.pupil.name for row in results_of(assignment).sat] == ["Ann", "Bo", "Cy"]

    def test_four_queries_whatever_the_class(
        self, assignment: Assignment, school_class: SchoolClass, django_assert_num_queries
    ) -> None:
        for _ in range(2):
            with django_assert_num_queries(4):
                results_of(assignment)
            for _ in range(8):
                make_sitting(assignment, make_pupil(school_class.school), choices="ABE")


class TestTheTable:
    def table(self, client, assignment: Assignment, query: str = "") -> html.HtmlElement:
        response = client.get(reverse("assignments:result", args=[assignment.pk]) + query)
        assert response.status_code == 200
        return html.fromstring(response.content.decode())

    def test_pupils_by_questions_with_marks_that_need_no_colour(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        rows = self.table(client_of(teacher), assignment).xpath("//table[@class='marks']/tbody/tr")
        assert [[words(cell) for cell in row] for row in rows] == [
            ["Ann", "right", "right", "right", "0:30", "3"],
            ["Bo", "right", "B", "–not answered", "0:20", "1"],
            ["Cy", "D", "right", "right", "0:30", "2"],
        ]
        assert len(rows[0].xpath(".//i[@class='disc']")) == 3

    def test_facility_stands_under_each_number(self, client_of, teacher: User, assignment: Assignment) -> None:
        (row,) = self.table(client_of(teacher), assignment).xpath("//tr[@class='facility']")
        assert [words(cell) for cell in row] == ["Facility", "0.67", "0.67", "0.67", "", "0.67"]

    @pytest.mark.parametrize(
        ("sort", "names"), [("mark", ["Ann", "Cy", "Bo"]), ("name", ["Ann", "Bo", "Cy"]), ("x", ["Ann", "Bo", "Cy"])]
    )
    def test_it_sorts(self, client_of, teacher: User, assignment: Assignment, sort: str, names: list[str]) -> None:
        table = self.table(client_of(teacher), assignment, f"?sort={sort}")
        assert [words(head) for head in table.xpath("//table[@class='marks']/tbody/tr/th")] == names

    def test_who_sits_it_now_is_left_out_of_the_figures(
        self, client_of, teacher: User, school_class: SchoolClass, pupil: User, set_clock
    ) -> None:
        """As in the list of questions and in the files: what is not answered yet is not wrong."""
        set_clock(NOON + timedelta(seconds=30))
        assignment = make_assignment(school_class)
        make_sitting(assignment, pupil, choices="C")
        page = self.table(client_of(teacher), assignment, "?question=1")
        (row,) = page.xpath("//tr[@class='facility']")
        assert [words(cell) for cell in row] == ["Facility", "–", "–", "–", "", "–"]
        assert "Median mark" not in words(page)
        ended = make_pupil(school_class.school)
        make_sitting(assignment, ended, choices="CAB", finished_at=NOON + timedelta(seconds=20))
        page = self.table(client_of(teacher), assignment)
        (row,) = page.xpath("//tr[@class='facility']")
        assert [words(cell) for cell in row] == ["Facility", "1.00", "1.00", "0.00", "", "0.67"]
        assert "Median mark2 of 3" in words(page)

    def test_list_and_page_count_the_same_pupils(
        self, client_of, teacher: User, school_class: SchoolClass, assignment: Assignment
    ) -> None:
        """Ann, Bo and Cy sat it, Fenna has not begun. Ann leaves the class, and her marks stay."""
        Enrolment.objects.filter(pupil__name="Ann").delete()
        some = make_assignment(school_class, for_some=True)
        for name in ("Bo", "Cy"):
            Addressee.objects.create(assignment=some, pupil=named(assignment, name))
        make_sitting(some, named(assignment, "Bo"))
        Enrolment.objects.filter(pupil__name="Cy").delete()
        client = client_of(teacher)
        page = html.fromstring(client.get(reverse("assignments:results")).content)
        listed = {
            row.xpath(".//a/@href")[0]: words(row.xpath("td[@data-label='Began']")[0])
            for row in page.xpath("//tbody/tr")
        }
        for one, began in ((assignment, "3 of 4"), (some, "1 of 1")):
            assert listed[reverse("assignments:result", args=[one.pk])] == began
            assert f"Began{began}" in words(self.table(client, one))

    def test_by_mark_is_by_the_mark_that_is_shown(
        self, client_of, teacher: User, school: School, school_class: SchoolClass
    ) -> None:
        """R - W/4: two right and six wrong are 0.5, one right and nothing wrong is 1."""
        assignment = make_assignment(school_class, "CCCCCCCC", corrects_guessing=True)
        for name, choices in (("Ann", "CCAAAAAA"), ("Bo", "C")):
            make_sitting(assignment, make_pupil(school, name), choices=choices)
        table = self.table(client_of(teacher), assignment, "?sort=mark")
        rows = table.xpath("//table[@class='marks']/tbody/tr")
        assert [(words(row[0]), words(row[-1])) for row in rows] == [("Bo", "1"), ("Ann", "0.5")]

    def test_who_was_away_is_sent_the_set_once_more_when_it_is_over(
        self,
        client_of,
        teacher: User,
        administrator: User,
        assignment: Assignment,
        pupil: User,
        school_class: SchoolClass,
        set_clock,
    ) -> None:
        again = "Send it once more, only to this pupil"
        set_clock(NOON)
        assert again not in words(self.table(client_of(teacher), assignment))
        set_clock(assignment.closes_at)
        (link,) = self.table(client_of(teacher), assignment).xpath(f"//a[text()='{again}']/@href")
        assert link.endswith(f"/assign/?class={assignment.school_class_id}&only={pupil.pk}")
        assert again not in words(self.table(client_of(administrator), assignment))
        later = make_assignment(school_class, for_some=True)
        Assignment.objects.filter(pk=later.pk).update(question_set=assignment.question_set)
        Addressee.objects.create(assignment=later, pupil=pupil)
        page = self.table(client_of(teacher), assignment)
        (link,) = page.xpath("//a[text()='sent once more']/@href")
        assert link == reverse("assignments:result_pupil", args=[later.pk, pupil.pk])
        assert again not in words(page)

    def test_mistakes_are_ranked_with_their_pupils(self, client_of, teacher: User, assignment: Assignment) -> None:
        (panel,) = self.table(client_of(teacher), assignment).xpath("//ol[@class='mistakes']")
        said = words(panel)
        assert "Bo" in said
        assert "Cy" in said
        assert "Ann" not in said

    def test_few_answers_are_said_to_be_few_and_scores_no_measure(
        self, client_of, teacher: User, assignment: Assignment, school_class: SchoolClass
    ) -> None:
        few = "Fewer than 10 answers: too few to judge."
        said = words(self.table(client_of(teacher), assignment))
        assert few in said  # eight
        assert CAUTION in said
        make_sitting(assignment, make_pupil(school_class.school), choices="CAE")
        assert few not in words(self.table(client_of(teacher), assignment))

    def test_a_picked_column_opens_its_option_counts(self, client_of, teacher: User, assignment: Assignment) -> None:
        options = self.table(client_of(teacher), assignment, "?question=1").xpath("//ol[@class='chosen-by']/li")
        assert [words(option)[:3] for option in options] == ["A 0", "B 0", "C 2", "D 1", "E 0"]
        assert "the key" in words(options[2])

    @pytest.mark.parametrize("question", ["0", "4", "-1", "x", "９", "9999999999999999999999"])
    def test_a_column_that_is_not_there_opens_nothing(
        self, client_of, teacher: User, assignment: Assignment, question: str
    ) -> None:
        assert not self.table(client_of(teacher), assignment, f"?question={question}").xpath("//ol[@class='chosen-by']")

    def test_a_late_choice_is_shown_and_not_counted(self, client_of, teacher: User, assignment: Assignment) -> None:
        sitting = assignment.sittings.get(pupil__name="Bo")
        choose(sitting, 3, "E", seq=9, at=NOON + timedelta(minutes=9), is_late=True)
        rows = self.table(client_of(teacher), assignment).xpath("//table[@class='marks']/tbody/tr")
        assert [words(cell) for cell in rows[1]] == ["Bo", "right", "B", "–not answeredlate", "0:20", "1"]

    def test_who_is_absent_is_named(self, client_of, teacher: User, assignment: Assignment) -> None:
        assert "Not begun: Fenna." in words(self.table(client_of(teacher), assignment))

    @pytest.mark.parametrize("name", ["result", "result_pupil", "result_review"])
    def test_each_page_costs_the_same_whatever_the_class(
        self,
        client_of,
        teacher: User,
        assignment: Assignment,
        school_class: SchoolClass,
        name: str,
        django_assert_num_queries,
    ) -> None:
        queries = {"result": 13, "result_pupil": 14, "result_review": 10}[name]
        args = {"result": [], "result_pupil": [named(assignment, "Bo").pk]}.get(name, [named(assignment, "Bo").pk, 2])
        client, address = client_of(teacher), reverse(f"assignments:{name}", args=[assignment.pk, *args])
        for _ in range(2):
            with django_assert_num_queries(queries):
                assert client.get(address).status_code == 200
            for _ in range(8):
                make_sitting(assignment, make_pupil(school_class.school), choices="ABE")


class TestOnePupil:
    def test_each_answer_with_what_it_stands_for(self, client_of, teacher: User, assignment: Assignment) -> None:
        address = reverse("assignments:result_pupil", args=[assignment.pk, named(assignment, "Bo").pk])
        page = html.fromstring(client_of(teacher).get(address).content.decode())
        rows = [words(row) for row in page.xpath("//table[contains(@class, 'answers')]/tbody/tr")]
        assert "C, right" in rows[0]
        assert MISTAKES[0][2] in rows[1]
        assert "not answered" in rows[2]
        assert CAUTION in words(page)

    def test_letters_are_those_the_pupil_saw(self, client_of, teacher: User, assignment: Assignment) -> None:
        sitting = assignment.sittings.get(pupil__name="Bo")
        sitting.paper[1]["order"] = "EDCBA"  # the version's B stood at D
        sitting.save()
        address = reverse("assignments:result_pupil", args=[assignment.pk, sitting.pupil_id])
        page = html.fromstring(client_of(teacher).get(address).content.decode())
        assert page.xpath("string(//table[contains(@class, 'answers')]/tbody/tr[2]//b)") == "D"

    def test_an_absent_pupil_has_no_sitting_yet(
        self, client_of, teacher: User, assignment: Assignment, pupil: User
    ) -> None:
        address = reverse("assignments:result_pupil", args=[assignment.pk, pupil.pk])
        assert "No sitting of this set yet." in client_of(teacher).get(address).content.decode()

    def test_a_pupil_of_another_class_is_not_found(
        self, client_of, teacher: User, assignment: Assignment, other_pupil: User
    ) -> None:
        address = reverse("assignments:result_pupil", args=[assignment.pk, other_pupil.pk])
        assert client_of(teacher).get(address).status_code == 404


class TestAnAnswerGoneOver:
    def page(self, client, assignment: Assignment, name: str, place: int) -> html.HtmlElement:
        args = [assignment.pk, named(assignment, name).pk, place]
        return html.fromstring(client.get(reverse("assignments:result_review", args=args)).content.decode())

    def test_variants_that_the_bank_has_are_led_to(self, client_of, teacher: User, assignment: Assignment) -> None:
        asked = assignment.questions.get(position=1).version.question
        made = make_question(teacher.school)
        Question.objects.filter(pk=made.pk).update(origin=asked)
        page = self.page(client_of(teacher), assignment, "Bo", 1)
        assert page.xpath(f"//a[@href='{reverse('bank:detail', args=[made.pk])}']")

    def test_the_choice_is_ringed_the_key_named_and_the_first_wrong_opening_marked(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        page = self.page(client_of(teacher), assignment, "Bo", 2)
        (chosen,) = page.xpath("//li[contains(@class, 'is-choice')]")
        assert words(chosen.xpath(".//h2")[0]) == "B chosen"
        assert chosen.xpath(".//li[@class='wrong-step']")
        (key,) = page.xpath("//li[contains(@class, 'is-key')]")
        assert words(key.xpath(".//h2")[0]) == "A the key"
        assert not key.xpath(".//li[@class='wrong-step']")

    def test_letters_and_pictures_follow_the_order_the_pupil_had(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        sitting = assignment.sittings.get(pupil__name="Bo")
        sitting.paper[1]["order"] = "EDCBA"
        sitting.save()
        page = self.page(client_of(teacher), assignment, "Bo", 2)
        assert words(page.xpath("//li[contains(@class, 'is-choice')]//h2")[0]) == "D chosen"
        titles = page.xpath("//ol[@class='reviewed']//*[local-name()='title']/text()")
        assert [title.split(",")[0] for title in titles] == [f"Option {letter}" for letter in "ABCDE"]

    def test_without_script_each_step_has_an_address(self, client_of, teacher: User, assignment: Assignment) -> None:
        args = [assignment.pk, named(assignment, "Bo").pk, 2]
        for step, place in (("0", 0), ("1", 1), ("99", 1), ("-1", 0), ("x", 0)):
            response = client_of(teacher).get(reverse("assignments:result_review", args=args) + f"?step={step}")
            assert response.context["step"] == place

    @pytest.mark.parametrize("place", [0, 4])
    def test_a_question_the_set_does_not_have_is_not_found(
        self, client_of, teacher: User, assignment: Assignment, place: int
    ) -> None:
        address = reverse("assignments:result_review", args=[assignment.pk, named(assignment, "Bo").pk, place])
        assert client_of(teacher).get(address).status_code == 404


@pytest.mark.parametrize(
    ("who", "status"),
    [("teacher", 200), ("head", 200), ("administrator", 200), ("other_teacher", 404), ("stranger", 404)],
)
def test_results_are_for_those_who_take_the_class_or_lead_the_school(
    request, client_of, assignment: Assignment, who: str, status: int
) -> None:
    client, bo = client_of(request.getfixturevalue(who)), named(assignment, "Bo").pk
    for name, *args in (("result",), ("result_pupil", bo), ("result_review", bo, 1)):
        assert client.get(reverse(f"assignments:{name}", args=[assignment.pk, *args])).status_code == status


def test_the_list_shows_what_is_in_view_and_how_far_it_is(
    client_of, teacher: User, assignment: Assignment, other_class: SchoolClass, set_clock
) -> None:
    make_assignment(other_class, title="Not mine")
    set_clock(NOON)
    client, address = client_of(teacher), reverse("assignments:results")
    page = html.fromstring(client.get(address).content.decode())
    (row,) = page.xpath("//tbody/tr")
    assert "3 of 4" in words(row)
    assert words(row).endswith("Open")
    assert CAUTION in words(page)
    SchoolClass.objects.filter(pk=assignment.school_class_id).update(archived_at=NOON)
    (row,) = html.fromstring(client.get(address).content.decode()).xpath("//tbody/tr")
    assert words(row).endswith("Class archived")
