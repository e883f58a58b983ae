"""Marks over a term with difficulty considered: sums by hand, what is said of them, charts, and the pages."""

from __future__ import annotations

import re
from datetime import timedelta
from math import sqrt

import numpy as np
import pytest
from django.urls import reverse
from lxml import etree, html

from accounts.models import SchoolClass, User
from accounts.services.classes import remove_pupil
from assignments.charts import chart_of
from assignments.models import Assignment
from assignments.progress import Score, Step, said_of
from assignments.rasch import ability
from assignments.services.clock import database_now
from bank.models import Version
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.factories import enrol, make_pupil


def step(right: float, predicted: float, *, pupils: int = 1, questions: int = 20) -> Step:
    return Step(Assignment(title="Set"), (Score(right, predicted, questions),) * pupils)


class TestSums:
    def test_the_difference_is_what_is_right_beyond_what_was_predicted(self) -> None:
        two = Step(Assignment(), (Score(0.5, 0.6, 10), Score(0.9, 0.6, 10)))
        assert two.difference == pytest.approx(0.1)
        assert two.error == pytest.approx(0.2)  # SD (n - 1) of 0.5 and 0.9 is 0.2828, over the root of 2

    def test_one_sitting_has_the_binomial_error_never_none(self) -> None:
        assert step(0.5, 0.5).error == pytest.approx(sqrt(0.25 / 20))
        assert step(1, 0.5).error > 0

    @pytest.mark.parametrize(
        ("steps", "says"),
        [
            ([], "No set has been sat yet."),
            ([step(0.6, 0.6)], "In one set the marks were just where the difficulty predicts."),
            (
                [step(0.5, 0.6), step(0.6, 0.6)],
                "Over 2 sets the marks were on average 5 points below what the difficulty predicts. "
                "From the first set to the last there is no change that could not be chance.",
            ),
            (
                [step(0.2, 0.6), step(0.9, 0.6)],
                "Over 2 sets the marks were on average 5 points below what the difficulty predicts. "
                "From the first set to the last they have risen by 70 points, difficulty considered.",
            ),
        ],
    )
    def test_what_is_said(self, steps: list[Step], says: str) -> None:
        assert said_of(steps) == says

    def test_the_figures_of_a_line_agree_as_they_are_read(self) -> None:
        """62.6 and 71.4 per cent are read as 63 and 71: 8 apart, though the exact figures are 8.8."""
        one = step(0.626, 0.714)
        assert one.percents | {"error": 0} == {"right": 63, "predicted": 71, "difference": -8, "error": 0}
        assert said_of([one]) == "In one set the marks were 8 points below what the difficulty predicts."

    def test_a_change_too_small_to_be_read_is_none(self) -> None:
        """Where all of a class have the same mark there is no spread, and each difference would be sure."""
        assert "no change" in said_of([step(0.601, 0.6, pupils=5), step(0.602, 0.6, pupils=5)])


class TestTheChart:
    def test_it_has_a_dot_for_each_set_at_its_height_and_tells_lines_apart_without_colour(self) -> None:
        drawn = etree.fromstring(chart_of([step(0, 0.5), step(1, 0.5), step(0.5, 0.5)]).svg)
        heights = [float(one.get("cy")) for one in drawn.iter("{*}circle")]
        assert heights[0] > heights[2] > heights[1]
        assert heights[2] == pytest.approx((heights[0] + heights[1]) / 2)
        dashes = [one.get("stroke-dasharray") for one in drawn.iter("{*}path")]
        assert dashes == ["7 5", "none"] or dashes == ["7 5", None]

    def test_nothing_in_it_is_refused_by_the_security_policy(self) -> None:
        """CSP Level 3: neither a style attribute or element nor a script takes effect without 'unsafe-inline'."""
        svg = chart_of([step(0.3, 0.5)]).svg
        assert not re.search(r"<style|<script|style=|\son\w+=|href", svg)
        assert "<text" in svg


@pytest.mark.django_db
class TestPages:
    @pytest.fixture
    def assignments(self, school_class: SchoolClass, pupil: User) -> list[Assignment]:
        """Three weeks: 1 of 3, 2 of 3, 3 of 3 right; questions predict 0.6."""
        made = []
        for week, choices in enumerate(("DBE", "CBE", "CAE")):
            opens = NOON + timedelta(days=7 * week)
            made.append(make_assignment(school_class, title=f"Week {week + 1}", opens_at=opens))
            make_sitting(made[-1], pupil, started_at=opens, choices=choices)
        Version.objects.update(difficulty={"level": 3, "facility": 0.6, "features": {}})
        return made

    def rows(self, client, name: str, *args: int) -> list[list[str]]:
        response = client.get(reverse(f"assignments:{name}", args=args))
        assert response.status_code == 200
        page = html.fromstring(response.content.decode())
        assert "Practice scores are not a standardised measure of ability" in page.text_content()
        return [[" ".join(cell.text_content().split()) for cell in row] for row in page.xpath("//tbody/tr")]

    def test_a_pupil_and_a_class_over_the_sets(
        self, client_of, teacher: User, assignments: list[Assignment], pupil: User, school_class: SchoolClass
    ) -> None:
        rows = self.rows(client_of(teacher), "pupil_progress", pupil.pk)
        assert [row[:2] + row[3:6] for row in rows] == [
            ["1", "Week 1", "33", "60", "−27"],
            ["2", "Week 2", "67", "60", "+7"],
            ["3", "Week 3", "100", "60", "+40"],
        ]
        # log((r + 1/2) / (3 - r + 1/2)) - log(0.6 / 0.4), as three questions alike have it; see TestOneScale
        assert [row[7] for row in rows] == ["−0.9 ± 1.2", "+0.1 ± 1.2", "+1.5 ± 1.7"]
        rows = self.rows(client_of(teacher), "class_progress", school_class.pk)
        assert [row[3:7] for row in rows[:3]] == [
            ["1", "33", "60", "−27"],
            ["1", "67", "60", "+7"],
            ["1", "100", "60", "+40"],
        ]

    def test_a_class_pupil_by_pupil_over_the_sets(
        self, client_of, teacher: User, assignments: list[Assignment], pupil: User, school_class: SchoolClass
    ) -> None:
        """Fenna sat all three; Émile the second alone and has left since; Gus is in the class and sat none."""
        left, new = make_pupil(school_class.school, "Émile"), make_pupil(school_class.school, "Gus")
        make_sitting(assignments[1], left, started_at=assignments[1].opens_at, choices="CAE")
        enrol(new, school_class)
        rows = self.rows(client_of(teacher), "class_progress", school_class.pk)[3:]
        assert rows == [
            ["Predicted", "60", "60", "60"],
            ["Émile", "–not sat", "100", "–not sat"],
            ["Fenna", "33", "67", "100"],
            ["Gus", "–not sat", "–not sat", "–not sat"],
        ]

    def test_what_is_not_begun_is_named_and_where_nothing_was_sent_the_way_to_the_sets(
        self, client_of, teacher: User, pupil: User, school_class: SchoolClass
    ) -> None:
        def shown(name: str, pk: int) -> tuple[list[str], list[str]]:
            page = html.fromstring(client_of(teacher).get(reverse(f"assignments:{name}", args=[pk])).content.decode())
            rows = page.xpath("//section[@aria-labelledby='waiting-heading']//li")
            return [" ".join(row.text_content().split()) for row in rows], page.xpath("//*[@class='empty']/a/@href")

        places = ("pupil_progress", pupil.pk), ("class_progress", school_class.pk)
        assert [shown(*place) for place in places] == [([], [reverse("assignments:sets")])] * 2
        later = database_now() + timedelta(days=2)
        sat = make_assignment(school_class, title="Sat")
        make_assignment(school_class, title="Waits", opens_at=later, closes_at=later + timedelta(days=1))
        for place in places:
            rows, links = shown(*place)
            assert rows[0].startswith(f"Waits {school_class.name}, opens ")
            assert rows[1].startswith("Sat ")
            assert links == []
        make_sitting(sat, pupil, choices="DBE")
        for place in places:
            assert [row.split()[0] for row in shown(*place)[0]] == ["Waits"]

    def test_sets_beside_each_other_the_newest_first(
        self, client_of, head: User, assignments: list[Assignment]
    ) -> None:
        rows = self.rows(client_of(head), "set_comparison")
        assert [row[0] for row in rows] == ["Week 3", "Week 2", "Week 1"]
        assert rows[0][3:7] == ["1 few", "100", "60", "+40"]

    def test_questions_of_the_bank_show_how_they_did(
        self, client_of, teacher: User, assignments: list[Assignment]
    ) -> None:
        version = assignments[0].questions.first().version
        version.pictures.all().delete()  # drawn by hand under short names, which the bank's addresses do not take
        page = client_of(teacher).get(reverse("bank:detail", args=[version.question_id])).content.decode()
        assert "of 1 sitting: few, so it may move a lot" in " ".join(page.split())
        figures = client_of(teacher).get(reverse("assignments:version_figures", args=[version.pk])).content.decode()
        assert "Only 1 sitting, fewer than 30" in figures

    def test_they_cost_the_same_whatever_was_sat(
        self,
        client_of,
        teacher: User,
        assignments: list[Assignment],
        school_class: SchoolClass,
        pupil: User,
        django_assert_max_num_queries,
    ) -> None:
        client = client_of(teacher)
        for week in range(4, 7):
            make_sitting(make_assignment(school_class, opens_at=NOON + timedelta(weeks=week)), pupil, choices="CAE")
        for name, args, most in (
            ("pupil_progress", [pupil.pk], 18),
            ("class_progress", [school_class.pk], 17),
            ("set_comparison", [], 15),
            ("question_figures", [], 14),
        ):
            with django_assert_max_num_queries(most):
                client.get(reverse(f"assignments:{name}", args=args))

    def test_items_and_mistakes_are_taken_away(self, client_of, head: User, assignments: list[Assignment]) -> None:
        import csv
        import io

        def read(name: str) -> list[dict[str, str]]:
            response = client_of(head).get(reverse(f"assignments:{name}"))
            return list(csv.DictReader(io.StringIO(response.getvalue().decode())))

        items = read("export_items")
        assert len(items) == 9
        assert {row["facility"] for row in items} == {"0.0", "1.0"}
        assert items[0]["predicted_facility"] == "0.6"
        mistakes = read("export_mistakes")
        assert [(row["set"], row["mistake"], row["chosen"], row["answers"]) for row in mistakes] == [
            ("Week 1", "slid", "2", "3"),
            ("Week 2", "slid", "1", "3"),
        ]

    def test_a_pupil_who_is_in_no_class_and_sat_nothing_has_a_page_for_whoever_is_led_there(
        self, client_of, pupil: User, school_class: SchoolClass, teacher: User, administrator: User
    ) -> None:
        remove_pupil(school_class=school_class, pupil=pupil, by=teacher)
        browser, address = client_of(administrator), reverse("assignments:pupil_progress", args=[pupil.pk])
        assert address in browser.get(reverse("accounts:pupil_edit", args=[pupil.pk])).content.decode()
        assert "No set has been sent to this pupil yet." in browser.get(address).content.decode()
        assert client_of(teacher).get(address).status_code == 404


class TestOneScale:
    @pytest.mark.parametrize("right", [0, 3, 10])
    def test_of_ten_questions_alike_it_is_the_log_odds_with_half_a_question_added_to_both_sides(
        self, right: int
    ) -> None:
        """Put p for all in Warm's equation: r - 10 p + (1 - 2 p) / 2 = 0. Worked out here by hand."""
        value, error = ability(right, np.full(10, 0.4))
        odds = (right + 0.5) / (10.5 - right)
        assert value == pytest.approx(0.4 + np.log(odds), abs=1e-6)
        assert error == pytest.approx(1 / np.sqrt(10 * odds / (1 + odds) ** 2), rel=1e-5)

    @pytest.mark.parametrize("right", [0, 2, 5])
    def test_it_is_where_likelihood_times_root_information_is_greatest(self, right: int) -> None:
        """The same estimate as the mode under Jeffreys's prior (Warm 1989, from memory), found by looking."""
        difficulty = np.array([-2.0, -0.5, 0.0, 1.0, 1.7])
        theta = np.linspace(-8, 8, 160_001)[:, None]
        p = 1 / (1 + np.exp(difficulty - theta))
        height = right * theta[:, 0] + np.log(1 - p).sum(axis=1) + np.log((p * (1 - p)).sum(axis=1)) / 2
        assert ability(right, difficulty)[0] == pytest.approx(theta[height.argmax(), 0], abs=1e-3)

    def test_the_same_share_of_a_harder_set_stands_higher(self) -> None:
        easy, hard = (Score(0.5, facility, 10, (facility,) * 10) for facility in (0.8, 0.3))
        assert easy.standing[0] < 0 < hard.standing[0]
