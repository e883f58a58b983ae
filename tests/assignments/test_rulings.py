"""A question found faulty: left out or given a second key, on record, and all that is derived follows."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from assignments.answer_tables import tables_of
from assignments.diagnosis import count_mistakes
from assignments.errors import RulingError
from assignments.figures import Figures
from assignments.models import Assignment, Ruling
from assignments.results import results_of
from assignments.services.rulings import rule_on
from tests.assignments.factories import NOON, choose, make_assignment, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.django_db
REASON = "D shows the same holes."


@pytest.fixture
def assignment(school_class: SchoolClass) -> Assignment:
    """Keys C A E. Ann: C A E. Bo: D B E. Cy: D A -."""
    assignment = make_assignment(school_class)
    for name, choices in (("Ann", "CAE"), ("Bo", "DBE"), ("Cy", "DA-")):
        mate = make_pupil(school_class.school, name)
        enrol(mate, school_class)
        make_sitting(assignment, mate, choices=choices)
    return assignment


def rule(assignment: Assignment, position: int, accepts: str, by: User) -> Ruling:
    question = assignment.questions.get(position=position)
    return rule_on(question=question, accepts=accepts, reason=REASON, by=by, at=NOON)


def marks_of(assignment: Assignment) -> list[tuple[int, int, int]]:
    return [(row.marks.right, row.marks.wrong, row.marks.asked) for row in results_of(assignment).sat]


class TestWhatFollows:
    def test_marks(self, assignment: Assignment, teacher: User) -> None:
        """By hand: right, wrong, of so many."""
        assert marks_of(assignment) == [(3, 0, 3), (1, 2, 3), (1, 1, 3)]
        rule(assignment, 1, "CD", teacher)
        assert marks_of(assignment) == [(3, 0, 3), (2, 1, 3), (2, 0, 3)]
        rule(assignment, 1, "", teacher)
        assert marks_of(assignment) == [(2, 0, 2), (1, 1, 2), (1, 0, 2)]
        rule(assignment, 1, "C", teacher)
        assert marks_of(assignment) == [(3, 0, 3), (1, 2, 3), (1, 1, 3)]

    def test_facility_and_figures(self, assignment: Assignment, teacher: User) -> None:
        rule(assignment, 1, "CD", teacher)
        assert [column.facility for column in results_of(assignment).columns] == [1, 2 / 3, 2 / 3]
        rule(assignment, 1, "", teacher)
        results = results_of(assignment)
        assert [column.facility for column in results.columns] == [None, 2 / 3, 2 / 3]
        figures = Figures(results)
        assert sorted(figures.items) == [1, 2]
        assert (figures.whole.questions, figures.whole.mean) == (2, pytest.approx(4 / 3))

    @pytest.mark.parametrize("accepts", ["CD", ""])
    def test_mistakes(self, assignment: Assignment, teacher: User, accepts: str) -> None:
        rule(assignment, 1, accepts, teacher)
        counted = count_mistakes((row.pupil, row.marks) for row in results_of(assignment).sat)
        assert [(one.kind, one.count, one.positions) for one in counted] == [("slid", 1, (2,))]

    def test_exports_and_what_is_recomputed(self, client_of, assignment: Assignment, teacher: User, capsys) -> None:
        rule(assignment, 1, "CD", teacher)
        rule(assignment, 2, "", teacher)
        address = reverse("assignments:export_answers") + f"?assignment={assignment.pk}"
        text = b"".join(client_of(teacher).get(address).streaming_content).decode()
        bo = [line for line in csv.DictReader(io.StringIO(text)) if line["pupil"] == "Bo"]
        assert [(line["outcome"], line["key"], line["accepts"]) for line in bo] == [
            ("right", "C", "CD"),
            ("dropped", "A", ""),
            ("right", "E", "E"),
        ]
        call_command("recompute", str(assignment.pk), "--check")
        assert "all alike" in capsys.readouterr().err

    def test_the_pupils_own_page(self, client_of, assignment: Assignment, teacher: User) -> None:
        Assignment.objects.update(feedback="now")
        rule(assignment, 2, "", teacher)
        bo = assignment.sittings.get(pupil__name="Bo")
        page = client_of(bo.pupil).get(reverse("assignments:start", args=[assignment.pk])).content.decode()
        assert "1 of 2 right." in page
        review = client_of(bo.pupil).get(reverse("assignments:review", args=[bo.pk, 2])).content.decode()
        assert "This question does not count." in review

    def test_the_class_table_says_so(self, client_of, assignment: Assignment, teacher: User) -> None:
        rule(assignment, 1, "", teacher)
        page = client_of(teacher).get(reverse("assignments:result", args=[assignment.pk])).content.decode()
        assert "Question 1: left out of the marks" in page
        assert "does not count" in page


class TestTheRecord:
    def test_it_keeps_who_when_and_why_of_every_ruling(self, client_of, assignment: Assignment, teacher: User) -> None:
        for accepts in ("CD", "", "C"):
            rule(assignment, 1, accepts, teacher)
        kept = Ruling.objects.values_list("accepts", "reason", "by", "at")
        assert list(kept) == [(accepts, REASON, teacher.pk, NOON) for accepts in ("CD", "", "C")]
        page = client_of(teacher).get(reverse("assignments:marking", args=[assignment.pk])).content.decode()
        assert page.count(REASON) == 3

    def test_a_ruling_that_changes_nothing_is_refused(self, assignment: Assignment, teacher: User) -> None:
        with pytest.raises(RulingError, match="in just this way already"):
            rule(assignment, 1, "C", teacher)
        assert not Ruling.objects.exists()

    def test_the_last_question_that_counts_stays(self, assignment: Assignment, teacher: User) -> None:
        rule(assignment, 1, "", teacher)
        rule(assignment, 2, "", teacher)
        with pytest.raises(RulingError, match="the last question that counts"):
            rule(assignment, 3, "", teacher)


class TestThePage:
    def post(self, client, assignment: Assignment, question: int = 1, **fields: str):
        return client.post(reverse("assignments:marking", args=[assignment.pk]) + f"?question={question}", fields)

    def test_two_keys(self, client_of, assignment: Assignment, teacher: User) -> None:
        assert self.post(client_of(teacher), assignment, deed="two_keys", also="D", reason=REASON).status_code == 302
        assert assignment.questions.get(position=1).accepts == "CD"

    @pytest.mark.parametrize(
        ("fields", "says"),
        [
            ({"deed": "drop"}, "Say in a line why"),
            ({"deed": "two_keys", "reason": REASON}, "Choose the option that is to count"),
            ({"deed": "two_keys", "also": "C", "reason": REASON}, "What was chosen at “Second option” is not offered."),
            ({"reason": REASON}, "Choose what is to become of the question."),
            ({"deed": "as_it_was", "reason": REASON}, "in just this way already"),
        ],
    )
    def test_what_is_missing_is_said_and_what_was_typed_kept(
        self, client_of, assignment: Assignment, teacher: User, fields: dict[str, str], says: str
    ) -> None:
        response = self.post(client_of(teacher), assignment, **fields)
        assert response.status_code == 400
        page = html.fromstring(response.content.decode())
        assert says in page.text_content()
        assert page.xpath("//input[@name='reason']/@value") == ([fields["reason"]] if "reason" in fields else [])
        assert not Ruling.objects.exists()

    def test_correction_for_guessing_is_off_until_it_is_chosen(
        self, client_of, assignment: Assignment, teacher: User
    ) -> None:
        """R - W/(k - 1) with k = 5, by hand: Ann 3, Bo 1 - 2/4, Cy 1 - 1/4. The median is 0.75."""
        client, address = client_of(teacher), reverse("assignments:result", args=[assignment.pk])
        assert results_of(assignment).median_mark == 1
        self.post(client, assignment, deed="correct")
        assignment.refresh_from_db()
        results = results_of(assignment)
        assert [results.mark_of(row) for row in results.sat] == [3, 0.5, 0.75]
        assert results.median_mark == 0.75
        page = html.fromstring(client.get(address).content.decode())
        totals = [cell.text_content() for cell in page.xpath("//tbody//td[contains(@class, 'total')]")]
        assert totals[1::2] == ["3", "0.5", "0.75"]  # each after the time taken
        assert "corrected for guessing" in page.text_content()
        self.post(client, assignment, deed="plain")
        assignment.refresh_from_db()
        assert not assignment.corrects_guessing

    @pytest.mark.parametrize(("feedback", "right"), [("after_close", 2), ("never", 3), ("now", 1)])
    def test_late_answers_count_if_the_teacher_says_so_but_none_from_when_a_pupil_may_have_been_told(
        self, client_of, school_class: SchoolClass, pupil: User, teacher: User, feedback: str, right: int
    ) -> None:
        """One right in time, one right after the pupil's own time, one right after the set had closed."""
        assignment = make_assignment(school_class, "CAE", feedback=feedback)
        sitting = make_sitting(assignment, pupil, choices="C")
        for place, letter, at in ((2, "A", NOON + timedelta(hours=1)), (3, "E", assignment.closes_at)):
            choose(sitting, place, letter, seq=place, at=at, is_late=True)

        def found() -> list[int]:
            (row,), (table,) = results_of(assignment).sat, tables_of([assignment])
            return [row.marks.right, int(table.right.sum()), 3 - row.marks.late]

        assert found() == [1, 1, 1]
        client = client_of(teacher)
        said = client.get(self.post(client, assignment, deed="late")["Location"]).content.decode()
        assert ("nothing late can count" in said) == (feedback == "now")
        assert found() == [right] * 3
        self.post(client, assignment, deed="in-time")
        assert found() == [1, 1, 1]

    @pytest.mark.parametrize(("who", "leads"), [("teacher", True), ("administrator", False)])
    def test_what_was_decided_leads_to_the_page_of_marking_whoever_has_that_page(
        self, request, client_of, assignment: Assignment, teacher: User, who: str, leads: bool
    ) -> None:
        client = client_of(teacher)
        self.post(client, assignment, deed="late")
        question = assignment.questions.first()
        rule_on(question=question, accepts="", reason="Two are right.", by=teacher, at=NOON)
        reader = client_of(request.getfixturevalue(who))
        page = html.fromstring(reader.get(reverse("assignments:result", args=[assignment.pk])).content.decode())
        assert "as was ruled" in page.text_content()
        assert "as was decided" in page.text_content()
        marking = reverse("assignments:marking", args=[assignment.pk])
        assert bool(page.xpath("//a[@href=$it]", it=marking)) == leads
        assert reader.get(marking).status_code == (200 if leads else 403)
