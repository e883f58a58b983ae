"""What the bank's list can be narrowed by that only sets and sittings know."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from assignments.bank_filters import FEWEST
from assignments.models import Facility
from assignments.tasks import count_facilities
from bank.models import Question
from tests.assignments.factories import choose, make_assignment, make_question, make_sitting
from tests.bank.pages import parse, words
from tests.factories import make_pupil

pytestmark = pytest.mark.django_db


def numbers(client, query: str) -> list[int]:
    return [int(text.split()[-1]) for text in words(parse(client.get(f"/bank/?{query}")), "//a[@class='name']")]


@pytest.fixture
def used(school_class) -> Question:
    """A question that the class has been asked; there is another that it has not."""
    assignment = make_assignment(school_class, opens_at=timezone.now() - timedelta(days=3))
    return assignment.questions.first().version.question


def test_never_used_with_a_class(client_of, teacher, school, school_class, used):
    fresh = make_question(school)
    client = client_of(teacher)
    found = numbers(client, f"unused={school_class.pk}")
    assert used.number in numbers(client, "")
    assert used.number not in found
    assert fresh.number in found


def test_an_older_version_that_the_class_was_asked_counts(client_of, teacher, school_class, used):
    used.current = used.versions.create(number=2, spec=used.current.spec, options=used.current.options, fingerprint="e")
    used.save()
    assert used.number not in numbers(client_of(teacher), f"unused={school_class.pk}")


def test_only_classes_in_view_can_be_asked_about(client_of, other_teacher, school_class, other_class, used):
    """A value that is not offered means nothing: the address does not tell what another's class was asked."""
    client = client_of(other_teacher)
    page = parse(client.get(f"/bank/?unused={school_class.pk}"))
    assert page.xpath("//input[@name='unused']/@value") == [str(other_class.pk)]
    assert used.number in numbers(client, f"unused={school_class.pk}")


def test_facility_once_sat(client_of, teacher, school, school_class):
    """Of ten who sat, 3 answered question 1 rightly, all of them question 2, and one left question 3 out: facilities
    .30, 1.00 and .90 by counting. One who sits just now is not counted; neither is a question that nine have sat."""
    assignment, small = make_assignment(school_class, "AAA"), make_assignment(school_class, "A", title="Small")
    for number in range(FEWEST):
        make_sitting(
            assignment, make_pupil(school), choices=("A" if number < 3 else "B") + "A" + ("A" if number else "-")
        )
        if number:
            make_sitting(small, make_pupil(school), choices="A")
    late = make_sitting(assignment, make_pupil(school), started_at=timezone.now(), allowance=900)
    choose(late, 1, "A", seq=1, at=timezone.now())
    assert count_facilities() == 4
    first, second, third = (question.version.question.number for question in assignment.questions.order_by("position"))
    nine = small.questions.get().version.question.number
    fresh = make_question(school).number
    client = client_of(teacher)
    assert numbers(client, "facility=hard") == [first]
    assert {*numbers(client, "facility=easiest")} == {second, third}
    assert {*numbers(client, "facility=hard&facility=easiest&sort=oldest")} == {first, second, third}
    assert {*numbers(client, "facility=unsat")} == {nine, fresh}
    assert numbers(client, "facility=middling") == []
    assert count_facilities() == 4
    assert Facility.objects.get(version__question__number=third).share == pytest.approx(0.9)
