"""Marks by folds and creases: sums by hand, and the pages that show them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.kinds import marks_by_kind
from assignments.models import Assignment
from assignments.results import results_of
from tests.assignments.factories import make_assignment, make_sitting

pytestmark = pytest.mark.django_db


@pytest.fixture
def assignment(school_class: SchoolClass, pupil: User) -> Assignment:
    """Three questions: one straight fold; two folds, one of them a diagonal; two straight folds. Keys C, A, E."""
    made = make_assignment(school_class, "CAE")
    for question, folds, slanting in zip(made.questions.order_by("position"), (1, 2, 2), (0, 1, 0), strict=True):
        question.version.folds = folds
        question.version.difficulty = {"features": {"folds": folds, "slanting": slanting, "oblique": 0}}
        question.version.save()
    make_sitting(made, pupil, choices="CBE")
    return made


def test_each_kind_has_its_questions_and_what_was_right(assignment: Assignment, client_of, teacher: User) -> None:
    results = results_of(assignment)
    found = marks_by_kind(results.questions, [row.marks for row in results.sat])
    assert [(kind.label, kind.positions, kind.right, kind.answers) for kind in found] == [
        ("1 fold", (1,), 1, 1),
        ("2 folds", (2, 3), 1, 2),
        ("Straight creases", (1, 2, 3), 2, 3),
        ("Diagonal creases", (2,), 0, 1),
    ]
    addresses = [("result", [assignment.pk]), ("result_pupil", [assignment.pk, results.sat[0].pupil.pk])]
    for name, where in addresses:
        page = client_of(teacher).get(reverse(f"assignments:{name}", args=where)).content.decode()
        assert '2 folds</th><td class="num">2</td><td class="num nowrap">1 of 2</td>' in page


def test_where_all_are_alike_or_nobody_sat_nothing_is_said(school_class: SchoolClass, assignment: Assignment) -> None:
    alike = results_of(make_assignment(school_class, "AB"))
    assert marks_by_kind(alike.questions, []) == []
    sat = results_of(assignment)
    assert marks_by_kind(sat.questions[:1], [row.marks for row in sat.sat]) == []
