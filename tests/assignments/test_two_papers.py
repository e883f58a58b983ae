"""Two papers for one class: handed out in turn, each pupil asked and judged by their own, the class seen together.

The cast: Ann, Bo, Cy and Di, in that order in the class list. Paper 1 has the keys C A E, Paper 2 the keys D B A.
"""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta
from uuid import uuid4

import numpy as np
import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone
from lxml import html

from accounts.models import SchoolClass, User
from assignments.answer_tables import tables_of
from assignments.errors import RulingError, SetError
from assignments.figures import Figures
from assignments.handing_out import papers_given
from assignments.item_statistics import set_statistics
from assignments.models import Addressee, AssignedQuestion, Assignment, Event, QuestionSet, Sitting
from assignments.monitor import monitor_of
from assignments.paper.orders import Choices, plan
from assignments.paper.sheet_codes import SheetName, code_of
from assignments.papers import option_names, place_numbered
from assignments.results import results_of
from assignments.services.assigning import Terms, assign_set
from assignments.services.paper_marks import PaperAnswers, enter_answers, typed_answers
from assignments.services.parallel import parallel_sets
from assignments.services.printing import material_of
from assignments.services.rulings import rule_on
from assignments.services.sittings import finish_sitting, start_sitting
from bank.models import Picture, Question
from tests.assignments.factories import choose, drawn, make_question, make_set
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
KEYS = ("CAE", "DBA")


def variant_of(question: Question, key: str, **facts) -> Question:
    made = make_question(question.school, key=key, **facts)
    Question.objects.filter(pk=made.pk).update(origin=question)
    return made


@pytest.fixture
def sets(school) -> list[QuestionSet]:
    first = [make_question(school, key=key) for key in KEYS[0]]
    second = [variant_of(question, key) for question, key in zip(first, KEYS[1], strict=True)]
    return [make_set(school, first), make_set(school, second, "Thursday set, Paper 2")]


@pytest.fixture
def mates(school_class: SchoolClass) -> list[User]:
    return [join(school_class, name) for name in ("Ann", "Bo", "Cy", "Di")]


def join(school_class: SchoolClass, name: str) -> User:
    mate = make_pupil(school_class.school, name)
    enrol(mate, school_class)
    return mate


@pytest.fixture
def assignment(sets, mates, school_class, teacher) -> Assignment:
    now = timezone.now()
    terms = Terms(now - timedelta(hours=1), now + timedelta(hours=1), 600, second_set=sets[1], shuffle_options=True)
    return assign_set(question_set=sets[0], school_class=school_class, terms=terms, by=teacher)


def sit(assignment: Assignment, pupil: User, choices: str, *, hands_in: bool = True) -> Sitting:
    """Letters are the versions' own, in the order of the pupil's paper; "-" for none."""
    at = timezone.now()
    sitting = start_sitting(assignment=assignment, pupil=pupil, device="tablet", at=at)
    for place, letter in enumerate(choices, 1):
        if letter != "-":
            choose(sitting, place, letter, seq=place, at=at)
    return finish_sitting(sitting=sitting, at=timezone.now()) if hands_in else sitting


@pytest.fixture
def sat(assignment, mates) -> Assignment:
    """By hand: Ann 3 and Cy 1 right of Paper 1, Bo 2 and Di 0 of Paper 2."""
    for mate, choices in zip(mates, ("CAE", "DBE", "CB-", "CAE"), strict=True):
        sit(assignment, mate, choices)
    return assignment


def asked(assignment: Assignment, paper: int, position: int) -> AssignedQuestion:
    return assignment.questions.get(paper=paper, position=position)


class TestSending:
    def test_only_a_set_parallel_place_by_place_may_be_paper_2(self, sets, school, school_class, teacher):
        first, second = sets
        questions = [entry.question for entry in first.entries.order_by("position")]
        variants = [entry.question for entry in second.entries.order_by("position")]
        mixed = make_set(school, [variants[0], *questions[1:]], "Two questions stand in both")
        make_set(school, variants[:2], "Too short")
        make_set(school, variants[::-1], "In another order")
        make_set(school, questions, "Nothing differs")
        make_set(school, [variant_of(questions[0], "A", level=5), *variants[1:]], "One is harder")
        make_set(school, [make_question(school) for _ in questions], "Others")
        retired = make_set(school, variants, "Retired")
        QuestionSet.objects.filter(pk=retired.pk).update(retired_at=timezone.now())
        assert parallel_sets(first) == [mixed, second]
        assert first in parallel_sets(second), "whichever of the two is assigned"
        second.entries.filter(position=3).delete()
        at = timezone.now()
        terms = Terms(at, at + timedelta(days=1), 90, second_set=second)
        with pytest.raises(SetError, match="no longer a parallel set of Thursday set"):
            assign_set(question_set=first, school_class=school_class, terms=terms, by=teacher)
        assert not Assignment.objects.exists()

    def test_the_page_tells_how_many_get_which_or_that_there_is_no_parallel_set(
        self, sets, mates, school_class, teacher, client_of
    ):
        client = client_of(teacher)
        address = reverse("assignments:assign", args=[sets[0].pk])
        mates.append(join(school_class, "Eli"))
        page = client.get(address).content.decode()
        assert "Two: every other pupil gets “Thursday set, Paper 2”" in page
        assert "Paper 1 to 3 pupils, Paper 2 to 2." in page
        lists = html.fromstring(page).xpath("//details[@class='fold-out dealt']//dl/div")
        dealt = {one.findtext("dt"): one.find("dd").text_content().split(", ") for one in lists}
        typed = {"class": school_class.pk, "opens_at": "2026-05-14T13:00", "allowance": "5", "feedback": "after_close"}
        typed |= {f"extra-{mate.pk}": 0 for mate in mates}
        typed["closes_at"] = f"{timezone.now() + timedelta(days=3):%Y-%m-%dT%H:%M}"
        forged = client.post(address, typed | {"second_set": str(sets[0].pk)})
        assert "not, or no longer, parallel" in forged.content.decode()
        client.post(address, typed | {"second_set": str(sets[1].pk)})
        made = Assignment.objects.get()
        assert (made.second_set, made.papers, made.questions.count()) == (sets[1], 2, 6)
        kept = made.addressees.order_by("pupil__name", "pupil").values_list("paper", "pupil__name")
        assert dealt == {f"Paper {n}": [name for paper, name in kept if paper == n] for n in (1, 2)}, "as was told"
        assert "Paper 2 of 2" in client.get(reverse("assignments:set_detail", args=[sets[1].pk])).content.decode()
        sets[1].entries.all().delete()
        page = client.get(address).content.decode()
        assert "There is no parallel set of this one yet" in page
        assert reverse("assignments:set_parallel", args=[sets[0].pk]) in page

    def test_they_are_handed_out_in_turn_and_whoever_joins_or_leaves_moves_nobody(
        self, assignment, mates, school_class
    ):
        by_name = dict(zip((mate.pk for mate in mates), (1, 2, 1, 2), strict=True))
        assert papers_given(assignment) == by_name
        school_class.enrolments.filter(pupil=mates[0]).delete()
        late, later = join(school_class, "Abe"), join(school_class, "Aza")  # before all others in the list
        assert papers_given(assignment) == by_name | {late.pk: 1, later.pk: 2}
        begun = sit(assignment, later, "", hands_in=False)
        Addressee.objects.filter(assignment=assignment).delete()
        assert papers_given(assignment)[later.pk] == 2, "the sitting keeps its paper"
        own = {asked(assignment, 2, place).pk for place in (1, 2, 3)}
        assert {entry["question"] for entry in begun.paper} == own
        monitor = monitor_of(assignment, timezone.now())
        assert {row.name: row.paper for row in monitor.rows}["Aza"] == 2
        assert sum(count for _, count in monitor.papers) == len(monitor.rows)


class TestThePupil:
    def test_gets_nothing_of_the_other_paper_and_sees_which_one_it_is(self, assignment, mates, client_of):
        """Every page of a sitting by both its ways, against every picture and name of every other question."""
        bo = mates[1]
        client = client_of(bo)
        sitting = Sitting.objects.get(pk=_start(client, assignment))
        pages = [
            client.get(reverse("assignments:my_sets")),
            client.get(reverse("assignments:start", args=[assignment.pk])),
        ]
        for place in (1, 2, 3):
            address = reverse("assignments:sitting", args=[sitting.pk, place])
            pages += [client.get(address), client.get(address, headers={"HX-Request": "true"})]
        pages.append(client.get(reverse("assignments:finish", args=[sitting.pk])))
        client.post(reverse("assignments:finish", args=[sitting.pk]))
        pages.append(client.get(reverse("assignments:start", args=[assignment.pk])))
        assert [page.status_code for page in pages] == [200] * 10
        text = "".join(page.content.decode() for page in pages)
        assert "<b>Thursday set, Paper 2</b>" in pages[2].content.decode()
        shown = [drawn(asked(assignment, 2, place).version, "stem", 0) for place in (1, 2, 3)]
        assert all(picture[picture.index("<path") :] in text for picture in shown)
        assert "Paper 1" not in text
        for place in (1, 2, 3):
            version = asked(assignment, 1, place).version
            hidden = [f" {version.pk}Z", *Picture.objects.filter(version=version).values_list("name", flat=True)]
            assert not [one for one in hidden if one in text]
        assert client.get(reverse("assignments:sitting", args=[sitting.pk, 4])).status_code == 404
        assert client.get(reverse("assignments:review", args=[sitting.pk, 1])).status_code == 404

    def test_cannot_answer_the_other_paper_and_is_told_their_own_once_it_is_due(self, assignment, mates, client_of):
        ann, bo = mates[:2]
        other = sit(assignment, ann, "CAE", hands_in=False)
        client = client_of(bo)
        sitting = Sitting.objects.get(pk=_start(client, assignment))
        forged = option_names(sitting.pk, place_numbered(other.paper, 1))[0]
        sent = {"question": 1, "kind": "choose", "option": forged, "client_id": str(uuid4()), "epoch": 1, "seq": 1}
        assert client.post(reverse("assignments:answer", args=[sitting.pk]), sent).status_code == 400
        assert not sitting.events.exists()
        Sitting.objects.update(finished_at=timezone.now())
        Assignment.objects.update(closes_at=timezone.now() - timedelta(minutes=5))
        page = client.get(reverse("assignments:start", args=[assignment.pk])).content.decode()
        assert "0 of 3 right" in page
        review = client.get(reverse("assignments:review", args=[sitting.pk, 1])).content.decode()
        assert drawn(asked(assignment, 2, 1).version, "step", 0).split("<path")[1] in review


def _start(client, assignment: Assignment) -> int:
    answer = client.post(reverse("assignments:start", args=[assignment.pk]))
    return int(answer["Location"].split("/")[2])


class TestResults:
    def test_each_is_judged_by_their_own_paper_and_a_column_takes_both(self, sat):
        results = results_of(sat)
        assert [(row.pupil.name, row.paper, row.marks.right) for row in results.sat] == [
            ("Ann", 1, 3),
            ("Bo", 2, 2),
            ("Cy", 1, 1),
            ("Di", 2, 0),
        ]
        assert [column.facility for column in results.columns] == [3 / 4, 2 / 4, 1 / 4]
        assert [[column.facility for column in part.columns] for part in results.papers] == [
            [1, 1 / 2, 1 / 2],
            [1 / 2, 1 / 2, 0],
        ]
        by_hand = np.array([[1, 1, 1], [1, 1, 0], [1, 0, 0], [0, 0, 0]])
        assert Figures(results).whole == set_statistics(by_hand)

    def test_the_table_shows_who_had_which_and_a_picked_question_of_both(self, sat, teacher, client_of):
        client = client_of(teacher)
        page = html.fromstring(client.get(f"/results/{sat.pk}/?question=1").content)
        rows = {row.xpath("string(.//bdi)"): row for row in page.xpath("//table/tbody/tr")}
        papers = {name: row.xpath("string(td[@class='paper num'])") for name, row in rows.items()}
        assert papers == {"Ann": "1", "Bo": "2", "Cy": "1", "Di": "2"}
        assert len(page.xpath("//tr[@class='pictures']")) == 2
        assert rows["Di"].xpath("string(.//b[@class='wrong'])") == "C", "the letter of Di's own version"
        picked = page.xpath("//section[contains(@aria-labelledby, 'question-heading')]")
        assert [one.xpath("string(h2)") for one in picked] == ["Question 1, Paper 1", "Question 1, Paper 2"]
        keys = [one.xpath("string(.//li[@class='is-key']//b)") for one in picked]
        assert keys == ["C", "D"]
        text = " ".join(page.text_content().split())
        assert "Paper 1: 2 pupils, 2 sat it, mean mark 2.0 of 3." in text
        assert "Paper 2: 2 pupils, 2 sat it, mean mark 1.0 of 3." in text
        assert "Paper 2. Began" in client.get(f"/results/{sat.pk}/pupils/{rows_pk(sat, 'Bo')}/").content.decode()
        by_paper = html.fromstring(client.get(f"/results/{sat.pk}/?sort=paper").content)
        assert by_paper.xpath("//table/tbody/tr//bdi/text()") == ["Ann", "Cy", "Bo", "Di"]
        watched = html.fromstring(client.get(f"/results/{sat.pk}/monitor/").content)
        assert watched.xpath("//td[@data-label='Paper']/text()") == ["1", "2", "1", "2"]

    def test_going_over_an_answer_leads_to_its_own_question_on_the_board(self, sat, teacher, client_of):
        client = client_of(teacher)
        page = client.get(f"/results/{sat.pk}/pupils/{rows_pk(sat, 'Di')}/2/").content.decode()
        assert f"/results/{sat.pk}/board/5/" in page
        board = client.get(f"/results/{sat.pk}/board/5/").content.decode()
        assert "Thursday set, Paper 2, question 2 of 3" in board
        assert drawn(asked(sat, 2, 2).version, "stem", 0).split("<path")[1] in board
        taught = html.fromstring(client.get(f"/results/{sat.pk}/teach/").content)
        names = {
            one.xpath("string(.//a[@class='asked'])").strip() for one in taught.xpath("//ul[@class='shown-by']/li")
        }
        assert names == {"Question 2, Paper 1", "Question 3, Paper 2", "Question 1, Paper 2", "Question 2, Paper 2"}

    def test_figures_of_questions_and_of_sets_follow(self, sat, teacher, client_of):
        tables = tables_of(Assignment.objects.all())
        found = {item.version: column.tolist() for t in tables for item, column in zip(t.items, t.right.T, strict=True)}
        assert found[asked(sat, 1, 2).version_id] == [True, False]
        assert found[asked(sat, 2, 1).version_id] == [True, False]
        (row,) = client_of(teacher).get(reverse("assignments:set_comparison")).context["rows"]
        assert row["whole"] == Figures(results_of(sat)).whole
        rule_on(question=asked(sat, 1, 1), accepts="", reason="Unclear.", by=teacher, at=timezone.now())
        rule_on(question=asked(sat, 2, 3), accepts="", reason="Unclear.", by=teacher, at=timezone.now())
        (row,) = client_of(teacher).get(reverse("assignments:set_comparison")).context["rows"]
        assert row["whole"] == Figures(results_of(sat)).whole
        assert row["whole"].questions == 1, "the one place that counts in both"

    def test_a_ruling_re_marks_one_paper_and_the_page_says_that_they_are_no_longer_alike(self, sat, teacher, client_of):
        rule_on(question=asked(sat, 2, 3), accepts="", reason="Unclear.", by=teacher, at=timezone.now())
        marks = {row.pupil.name: (row.marks.right, row.marks.asked) for row in results_of(sat).sat}
        assert marks == {"Ann": (3, 3), "Bo": (2, 2), "Cy": (1, 3), "Di": (0, 2)}
        assert results_of(sat).columns[2].facility == 1 / 2
        client = client_of(teacher)
        page = client.get(f"/results/{sat.pk}/marking/?question=3&paper=2").content.decode()
        assert "Paper 1 is marked out of 3. Paper 2 is marked out of 2." in page
        assert '<h2 id="ruling-heading">Question 3, Paper 2</h2>' in page
        table = html.fromstring(client.get(f"/results/{sat.pk}/").content)
        last = {
            row.xpath("string(.//bdi)"): row.xpath("string(td[last()])").split() for row in table.xpath("//tbody/tr")
        }
        assert (last["Ann"], last["Bo"]) == (["3"], ["2", "of", "2"])
        rule_on(question=asked(sat, 2, 1), accepts="", reason="Unclear.", by=teacher, at=timezone.now())
        with pytest.raises(RulingError, match="last question"):
            rule_on(question=asked(sat, 2, 2), accepts="", reason="Unclear.", by=teacher, at=timezone.now())

    def test_a_question_that_stands_in_both_is_ruled_on_in_both(self, sat, teacher):
        shared = asked(sat, 1, 2)
        sat.questions.filter(paper=2, position=2).update(version=shared.version)
        rule_on(question=shared, accepts="AB", reason="B shows the same holes.", by=teacher, at=timezone.now())
        assert {one.accepts for one in sat.questions.filter(position=2)} == {"AB"}

    def test_files_history_and_recomputation_agree(self, sat, teacher, client_of):
        page = client_of(teacher).get(f"/results/answers.csv?assignment={sat.pk}")
        lines = list(csv.DictReader(io.StringIO(b"".join(page.streaming_content).decode())))
        assert list(lines[0])[-1] == "paper"
        told = [(line["pupil"], line["position"], line["paper"], line["key"], line["outcome"]) for line in lines[3:6]]
        assert told == [("Bo", "1", "2", "D", "right"), ("Bo", "2", "2", "B", "right"), ("Bo", "3", "2", "A", "wrong")]
        out, says = io.StringIO(), io.StringIO()
        call_command("recompute", str(sat.pk), "--check", stdout=out, stderr=says)
        assert "4 sittings recomputed, all alike." in says.getvalue()
        marks = [json.loads(line)["marks"] for line in out.getvalue().splitlines()]
        assert [[one["key"] for one in each] for each in marks] == [list(KEYS[0]), list(KEYS[1])] * 2


def rows_pk(assignment: Assignment, name: str) -> int:
    return assignment.sittings.get(pupil__name=name).pupil_id


class TestOnPaper:
    def test_the_booklets_schemes_and_sheets_are_those_of_the_papers_given(self, assignment, mates):
        material = material_of(assignment.question_set, assignment)
        assert ["".join(question.key for question in material.paper(number)) for number in (1, 2)] == list(KEYS)
        choices = Choices(("booklet", "sheets", "scheme", "lesson"), papers=2, named=True)
        assert [file.title for file in plan(material, choices)] == [
            "Booklet, Paper 1",
            "Booklet, Paper 2",
            "Answer sheets, one for each pupil",
            "Mark scheme, Paper 1",
            "Mark scheme, Paper 2",
            "Lesson sheets, Paper 1",
            "Lesson sheets, Paper 2",
        ]
        sheets = plan(material, choices)[2].make.args[2]
        assert [(sheet.pupil, sheet.name.paper) for sheet in sheets] == [("Ann", 1), ("Bo", 2), ("Cy", 1), ("Di", 2)]

    def test_letters_typed_in_are_read_by_the_paper_in_the_row_or_on_the_sheet(
        self, assignment, mates, teacher, client_of
    ):
        ann, bo = mates[:2]
        client, address = client_of(teacher), reverse("assignments:paper_marks", args=[assignment.pk])
        form = client.get(address).context["form"]
        assert [form[f"paper-{mate.pk}"].value() for mate in mates] == [1, 2, 1, 2]
        assert form.count == 3
        sheet = SheetName(assignment.question_set_id, assignment.pk, 2, ann.pk)
        assert client.get(f"{address}?code={code_of(sheet)}").context["found"] == sheet

        def enter(*answers: PaperAnswers) -> None:
            at = timezone.now()
            enter_answers(assignment=assignment, answers=answers, sat_at=at, by=teacher, at=at)

        enter(PaperAnswers(bo, 2, KEYS[1]), PaperAnswers(ann, 2, KEYS[1]))
        assert [(row.paper, row.marks.right) for row in results_of(assignment).sat] == [(2, 3), (2, 3)]
        enter(PaperAnswers(ann, 1, "CA-"))  # it was Paper 1 after all
        assert [(row.paper, row.marks.right) for row in results_of(assignment).sat] == [(1, 2), (2, 3)]
        assert typed_answers(assignment) == {ann.pk: (1, "CA-"), bo.pk: (2, KEYS[1])}
        assert papers_given(assignment)[ann.pk] == 1
        out = io.StringIO()
        call_command("history", str(assignment.pk), stdout=out)
        places = [json.loads(line)["place"] for line in out.getvalue().splitlines()]
        assert len(places) == Event.objects.count() == 8
        assert places.count(None) == 3, "those typed in from the paper that no longer counts"
        call_command("recompute", str(assignment.pk), "--check", stdout=io.StringIO(), stderr=io.StringIO())
