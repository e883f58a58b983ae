"""A few histories of a school, drawn by lot: what features do to each other that no test brings together by name.

The long form, over hundreds of seeds, is run by hand: ``python -m tests.histories``.
"""

from __future__ import annotations

import re
from datetime import timedelta
from random import Random

import pytest
from django.http import Http404, HttpResponse
from django.urls import path, reverse

import config.urls
from assignments.services.clock import database_now
from tests.assignments.factories import make_assignment, make_sitting
from tests.histories import rules
from tests.histories.crawl import Fault, Walker, walk
from tests.histories.life import Life
from tests.histories.live import live

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


@pytest.mark.parametrize("seed", [1])
def test_no_page_breaks_and_no_rule_in_a_history_drawn_by_lot(seed: int) -> None:
    assert [fault for _, fault in live(seed, steps=30, every=15) if fault] == []


class Planted:
    """A page that offers one that is not there, one that fails, and a place on itself that has no such name."""

    @staticmethod
    def page(request):
        return HttpResponse("<a href='/planted/gone/'></a><a href='/planted/fails/'></a><a href='#nowhere'></a>")

    @staticmethod
    def gone(request):
        raise Http404

    @staticmethod
    def fails(request):
        raise ZeroDivisionError

    urlpatterns = [
        path("planted/", page, name="planted"),
        path("planted/gone/", gone, name="planted_gone"),
        path("planted/fails/", fails, name="planted_fails"),
        *config.urls.urlpatterns,
    ]


def test_dead_links_are_found(settings, teacher) -> None:
    settings.ROOT_URLCONF = Planted
    walker = Walker(teacher)

    with pytest.raises(Fault) as found:
        walk(walker, Random(1), of_a_kind=1, start="/planted/")
    assert re.search("gone/, offered by /planted/, answers 404", str(found.value))
    assert "ZeroDivisionError" in str(found.value)
    assert "#nowhere" in str(found.value)


@pytest.fixture
def life() -> Life:
    return Life(1)


@pytest.fixture
def sitting(life: Life):
    now = database_now()
    assignment = make_assignment(life.classes().first(), opens_at=now - timedelta(hours=1), allowance=3600)
    pupil = assignment.school_class.enrolments.first().pupil
    return make_sitting(assignment, pupil, started_at=now - timedelta(minutes=10), choices="CBE")


def test_what_holds_is_found_to_hold(life: Life, sitting) -> None:
    rules.told_in_time(life, sitting.assignment)
    rules.files_tell_what_pages_tell(life, sitting.assignment)
    rules.marks_stay(sitting.assignment)


def test_an_answer_told_too_early_is_found(life: Life, sitting, monkeypatch) -> None:
    monkeypatch.setattr("assignments.views.reviews.is_due", lambda *args, **facts: True)
    with pytest.raises(Fault, match="due is False"):
        rules.told_in_time(life, sitting.assignment)


def test_a_file_that_tells_something_else_than_the_page_is_found(life: Life, sitting, monkeypatch) -> None:
    monkeypatch.setattr("assignments.views.exports.sitting_rows", lambda *args, **facts: iter(()))
    with pytest.raises(Fault, match="the file of sittings"):
        rules.files_tell_what_pages_tell(life, sitting.assignment)


def test_a_question_is_told_of_while_all_who_have_it_still_sit(life: Life, sitting) -> None:
    """Found by lot: each question's number led to a place that was not on the page."""
    page = life.walker(life.teacher).get(
        reverse("assignments:result", args=[sitting.assignment_id]) + "?question=1&sort=name"
    )
    [panel] = page.tree.xpath("//section[@id='question']")
    assert "Nobody has ended yet" in panel.text_content()
    assert "distractor efficiency" not in panel.text_content()
    assert len(panel.xpath(".//li")) == 5


def test_a_name_that_stayed_is_found(life: Life, sitting) -> None:
    life.gone.add(sitting.pupil.name)
    with pytest.raises(Fault, match="name of an erased pupil"):
        rules.erased_everywhere(life)


def test_a_page_that_the_other_school_gets_is_found(life: Life, sitting, monkeypatch) -> None:
    address = reverse("assignments:result", args=[sitting.assignment_id])
    seen = {address: life.walker(life.teacher).get(address)}
    rules.strangers(life, seen, Random(1))
    monkeypatch.setattr("assignments.querysets.AssignmentQuerySet.visible_to", lambda self, user: self)
    with pytest.raises(Fault, match=f"is shown {address}"):
        rules.strangers(life, seen, Random(1))
