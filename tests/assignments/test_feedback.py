"""R12: a pupil is never told early. The rule by itself, then the page that shows it."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.feedback import is_due
from assignments.models import Assignment, Feedback, Sitting
from assignments.queries import last_running_deadline
from tests.assignments.factories import MISTAKES, NOON, choose, make_assignment, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
CLOSES = NOON + timedelta(hours=1)
MOMENT = timedelta(milliseconds=1)
GRACE = timedelta(seconds=5)


def told(sitting: Sitting, at: datetime, *, is_locked: bool = False) -> bool:
    return is_due(sitting, last_running_deadline(sitting.assignment), at, is_locked=is_locked)


def assignment_with(school_class: SchoolClass, feedback: str, **others: object) -> Assignment:
    return make_assignment(school_class, feedback=feedback, closes_at=CLOSES, allowance=90, **others)


def without_token(response: HttpResponse) -> str:
    """The page but for the token against forged requests, which is written anew each time."""
    return re.sub(r'"X-CSRFToken": "\w+"', "", response.content.decode())


class TestAfterTheClose:
    @pytest.fixture
    def sitting(self, school_class: SchoolClass, pupil: User) -> Sitting:
        assignment = assignment_with(school_class, Feedback.AFTER_CLOSE)
        return make_sitting(assignment, pupil, choices="CAE", finished_at=NOON + timedelta(seconds=40))

    def test_not_before_the_closing_time_though_all_have_finished(self, sitting: Sitting) -> None:
        assert not told(sitting, CLOSES - MOMENT)
        assert told(sitting, CLOSES)

    def test_not_while_anybodys_time_runs_extra_time_included(
        self, sitting: Sitting, school_class: SchoolClass
    ) -> None:
        slow = make_pupil(school_class.school)
        began = CLOSES - timedelta(seconds=1)
        make_sitting(sitting.assignment, slow, started_at=began, allowance=135, extra_percent=50)
        over = began + timedelta(seconds=135) + GRACE
        assert not told(sitting, over)
        assert told(sitting, over + MOMENT)

    def test_one_who_has_handed_in_keeps_nobody_waiting(self, sitting: Sitting, school_class: SchoolClass) -> None:
        began = CLOSES - timedelta(seconds=1)
        finished = began + timedelta(seconds=30)
        make_sitting(sitting.assignment, make_pupil(school_class.school), started_at=began, finished_at=finished)
        assert told(sitting, CLOSES + timedelta(seconds=30))

    def test_a_later_closing_time_takes_it_back(self, sitting: Sitting) -> None:
        sitting.assignment.closes_at = CLOSES + timedelta(days=1)
        assert not told(sitting, CLOSES)


class TestAtOnce:
    @pytest.fixture
    def sitting(self, school_class: SchoolClass, pupil: User) -> Sitting:
        return make_sitting(assignment_with(school_class, Feedback.NOW), pupil, choices="CAE")

    def test_not_before_the_choice_is_fixed(self, sitting: Sitting) -> None:
        assert not told(sitting, NOON + timedelta(seconds=50))
        assert told(sitting, NOON + timedelta(seconds=50), is_locked=True)

    def test_all_of_it_once_no_choice_can_count_any_more(self, sitting: Sitting) -> None:
        assert not told(sitting, sitting.deadline + GRACE)
        assert told(sitting, sitting.deadline + GRACE + MOMENT)

    def test_and_after_handing_in(self, sitting: Sitting) -> None:
        sitting.finished_at = NOON + timedelta(seconds=40)
        assert told(sitting, NOON + timedelta(seconds=41))


def test_never_means_never(school_class: SchoolClass, pupil: User) -> None:
    sitting = make_sitting(assignment_with(school_class, Feedback.NEVER), pupil, choices="CAE")
    assert not told(sitting, CLOSES + timedelta(days=365), is_locked=True)


class TestThePage:
    @pytest.fixture
    def sitting(self, school_class: SchoolClass, pupil: User) -> Sitting:
        assignment = assignment_with(school_class, Feedback.AFTER_CLOSE)
        return make_sitting(assignment, pupil, choices="DA", finished_at=NOON + timedelta(seconds=40))

    def test_k6_too_early_it_answers_as_if_there_were_no_such_page(
        self, client_of, sitting: Sitting, pupil: User, set_clock
    ) -> None:
        client = client_of(pupil)
        set_clock(CLOSES - MOMENT)
        early = client.get(reverse("assignments:review", args=[sitting.pk, 1]))
        unknown = client.get(reverse("assignments:review", args=[sitting.pk, 9]))
        none = client.get(reverse("assignments:review", args=[sitting.pk + 1000, 1]))
        assert early.status_code == unknown.status_code == none.status_code == 404
        assert without_token(early) == without_token(unknown) == without_token(none)

    def test_nor_does_the_page_of_the_set_tell_the_marks(
        self, client_of, sitting: Sitting, pupil: User, set_clock
    ) -> None:
        set_clock(CLOSES - MOMENT)
        page = client_of(pupil).get(reverse("assignments:start", args=[sitting.assignment_id])).content.decode()
        assert "You have finished. " not in page
        assert "2 of 3 questions answered." in page
        assert "right" not in page

    def test_then_it_names_the_mistake_and_opens_the_sheet_step_by_step(
        self, client_of, sitting: Sitting, pupil: User, set_clock
    ) -> None:
        set_clock(CLOSES)
        page = client_of(pupil).get(reverse("assignments:review", args=[sitting.pk, 1])).content.decode()
        assert MISTAKES[0][2] in page  # D stands next to the key, C
        assert page.count("data-step=") == 2
        assert "your answer" in page

    def test_and_the_set_tells_how_it_went(self, client_of, sitting: Sitting, pupil: User, set_clock) -> None:
        set_clock(CLOSES)
        page = client_of(pupil).get(reverse("assignments:start", args=[sitting.assignment_id])).content.decode()
        assert "1 of 3 right." in page

    def test_anothers_review_is_not_found_when_due_either(
        self, client_of, sitting: Sitting, school_class: SchoolClass, set_clock
    ) -> None:
        mate = make_pupil(school_class.school)
        enrol(mate, school_class)
        set_clock(CLOSES)
        assert client_of(mate).get(reverse("assignments:review", args=[sitting.pk, 1])).status_code == 404

    def test_during_a_sitting_only_the_checked_question_is_told(
        self, client_of, school_class: SchoolClass, pupil: User, set_clock
    ) -> None:
        sitting = make_sitting(assignment_with(school_class, Feedback.NOW), pupil, choices="CB")
        choose(sitting, 1, "", seq=9, at=NOON + timedelta(seconds=25), kind="lock")
        set_clock(NOON + timedelta(seconds=30))
        client = client_of(pupil)
        assert client.get(reverse("assignments:review", args=[sitting.pk, 1])).status_code == 200
        assert client.get(reverse("assignments:review", args=[sitting.pk, 2])).status_code == 404
        assert "1 minute left" in client.get(reverse("assignments:review", args=[sitting.pk, 1])).content.decode()
