"""What the bank's list can be narrowed by that only sets and sittings know."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from bank.models import Question
from tests.assignments.factories import make_assignment, make_question
from tests.bank.pages import parse, words

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
