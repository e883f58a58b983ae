"""The figures beside a class's marks: worked out from its sittings by hand, and shown with what they mean."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from lxml import html

from accounts.models import SchoolClass, User
from assignments.figures import Figures
from assignments.models import Assignment
from assignments.results import results_of
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


@pytest.fixture
def assignment(school_class: SchoolClass) -> Assignment:
    """Keys C A E. Ann has all three right, Bo the first (and leaves out the last), Cy the second and third."""
    assignment = make_assignment(school_class)
    for name, choices in (("Ann", "CAE"), ("Bo", "CB"), ("Cy", "DAE")):
        mate = make_pupil(school_class.school, name)
        enrol(mate, school_class)
        make_sitting(assignment, mate, choices=choices, finished_at=NOON + timedelta(seconds=60))
    return assignment


def test_figures_of_three_sittings_agree_with_sums_by_hand(assignment: Assignment) -> None:
    """Marks 111, 100, 011. Question 1 against the rest (2, 0, 2): r = (-6/9) / sqrt(6/9 x 24/9) = -1/2.

    KR-20: sum pq = 3 x 2/9, variance of 3, 1, 2 = 2/3, so 3/2 (1 - 1) = 0; the error is the whole SD, 1 mark.
    """
    figures = Figures(results_of(assignment))
    assert [item.item_rest for item in figures.items.values()] == pytest.approx([-0.5, 0.5, 0.5])
    assert (figures.whole.kr20, figures.whole.sd, figures.whole.error) == pytest.approx((0, 1, 1))
    assert figures.are_few
    assert figures.difficulties is None
    assert figures.rasch(0) is None


def test_options_of_a_question_have_mean_marks(assignment: Assignment) -> None:
    figures = Figures(results_of(assignment))
    first = {option.letter: (option.chosen, option.mean_mark) for option in figures.options(0)}
    assert first["C"] == (2, 2)  # Ann 3, Bo 1
    assert first["D"] == (1, 2)  # Cy
    assert first["A"] == (0, None)
    assert figures.efficiency(0) == 0.25  # only D of A, B, D, E
    assert figures.seconds(0) > 0


def test_rasch_difficulties_come_with_thirty_sittings(assignment: Assignment, school_class: SchoolClass) -> None:
    for number in range(27):
        mate = make_pupil(school_class.school, f"Pupil {number}")
        choices = ("CAE", "CAB", "CBB", "DAB")[number % 4]
        make_sitting(assignment, mate, choices=choices, finished_at=NOON + timedelta(seconds=60))
    figures = Figures(results_of(assignment))
    assert figures.difficulties is not None
    easier, harder = figures.rasch(0), figures.rasch(2)
    assert easier is not None
    assert harder is not None
    assert easier[0] < harder[0]
    assert not figures.are_few


def test_the_page_shows_the_figures_and_what_they_mean(client_of, assignment: Assignment, teacher: User) -> None:
    page = client_of(teacher).get(reverse("assignments:result", args=[assignment.pk]), {"question": 1})
    text = " ".join(html.fromstring(page.content).text_content().split())
    assert "KR-200.00" in text.replace(" ", "")
    assert "Standarderror,here1.0mark:" in text.replace(" ", "")
    assert "Withtherest−0.500.500.50" in text.replace(" ", "")
    assert "25 % of the wrong options were chosen by 5 % of the pupils or more" in text
    assert "Fewer than 30 sittings: these figures move a lot from class to class." in text


def test_figures_cost_no_queries(assignment: Assignment, django_assert_num_queries) -> None:
    results = results_of(assignment)
    with django_assert_num_queries(0):
        figures = Figures(results)
        assert figures.whole.questions == len(figures.items) == 3
