"""Starting a sitting: when, how long, on which paper (R6, R9, R10), and going on with it elsewhere."""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.errors import NotOpen, TimeError
from assignments.models import Assignment, ExtraTime, Feedback, Sitting
from assignments.papers import draw_paper, places
from assignments.services.sittings import start_sitting
from assignments.services.timing import add_time
from assignments.timekeeping import UNTIMED, with_extra
from tests.assignments.factories import NOON, make_assignment, make_question, make_set
from tests.factories import enrol, make_pupil

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]


def start(assignment: Assignment, pupil: User, *, at=NOON, device: str = "tablet") -> Sitting:
    return start_sitting(assignment=assignment, pupil=pupil, device=device, at=at)


def test_it_can_be_started_from_the_opening_to_the_closing(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class, closes_at=NOON + timedelta(hours=1))
    with pytest.raises(NotOpen, match="not open yet"):
        start(assignment, pupil, at=NOON - timedelta(milliseconds=1))
    with pytest.raises(NotOpen, match="has closed"):
        start(assignment, pupil, at=NOON + timedelta(hours=1))
    assert start(assignment, pupil, at=NOON + timedelta(minutes=59, seconds=59)).pk


def test_the_time_is_the_allowance(school_class: SchoolClass, pupil: User) -> None:
    sitting = start(make_assignment(school_class, allowance=90), pupil)
    assert sitting.deadline == NOON + timedelta(seconds=90)


@pytest.mark.parametrize(("agreed", "here", "seconds"), [(25, None, 113), (25, 0, 90), (0, 50, 135), (25, 33, 120)])
def test_extra_time_is_what_is_agreed_unless_this_assignment_says_otherwise(
    school_class: SchoolClass, agreed: int, here: int | None, seconds: int
) -> None:
    pupil = make_pupil(school_class.school, extra_time=agreed)
    enrol(pupil, school_class)
    assignment = make_assignment(school_class, allowance=90)
    if here is not None:
        ExtraTime.objects.create(assignment=assignment, pupil=pupil, percent=here)
    assert start(assignment, pupil).allowance == seconds


@pytest.mark.parametrize(
    ("seconds", "percent", "whole"), [(90, 25, 113), (90, 0, 90), (100, 33, 133), (61, 50, 92), (30, 300, 120)]
)
def test_extra_time_is_rounded_up_to_a_whole_second(seconds: int, percent: int, whole: int) -> None:
    assert with_extra(seconds, percent) == whole


def test_r10_the_paper_stays_as_it_was_drawn(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class, "CAEBD", shuffle_questions=True, shuffle_options=True)
    first = start(assignment, pupil)
    later = start(assignment, pupil, device="phone", at=NOON + timedelta(seconds=30))
    assert later.pk == first.pk
    assert later.paper == first.paper
    assert later.started_at == NOON


def test_r10_an_edit_of_the_question_changes_no_paper(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class)
    asked = assignment.questions.first()
    question = asked.version.question
    question.current = make_question(school_class.school, key="B").current
    question.save()
    assert assignment.questions.first().version == asked.version


def test_without_shuffling_the_paper_is_the_set(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class)
    paper = places(start(assignment, pupil).paper)
    assert [place.question for place in paper] == [q.pk for q in assignment.questions.order_by("position")]
    assert {place.order for place in paper} == {"ABCDE"}


def test_shuffled_papers_hold_all_and_differ_from_pupil_to_pupil(school_class: SchoolClass) -> None:
    assignment = make_assignment(school_class, "CAEBD", shuffle_questions=True, shuffle_options=True)
    pupils = [make_pupil(school_class.school) for _ in range(8)]
    papers = [places(start(assignment, pupil).paper) for pupil in pupils]
    whole = {question.pk for question in assignment.questions.all()}
    assert all({place.question for place in paper} == whole for paper in papers)
    assert all("".join(sorted(place.order)) == "ABCDE" for paper in papers for place in paper)
    # Eight papers alike by chance: (1 / (5! * 5!^5))^7.
    assert len({str(paper) for paper in papers}) > 1


def test_the_seed_kept_with_the_sitting_draws_the_same_paper_again(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class, "CAEBD", shuffle_questions=True, shuffle_options=True)
    sitting = start(assignment, pupil)
    questions = [question.pk for question in assignment.questions.order_by("position")]
    again = draw_paper(questions, Random(sitting.seed), shuffle_questions=True, shuffle_options=True)
    assert again == sitting.paper


class TestWithoutATimeLimit:
    """Practice: the closing time alone ends it."""

    @pytest.fixture
    def assignment(self, school_class: SchoolClass) -> Assignment:
        closes_at = NOON + timedelta(days=3)
        return make_assignment(
            school_class, closes_at=closes_at, allowance=UNTIMED, closing_cuts=True, feedback=Feedback.NOW
        )

    def test_it_runs_until_the_closing_time(self, assignment: Assignment, pupil: User, teacher: User) -> None:
        sitting = start(assignment, pupil)
        assert sitting.deadline == assignment.closes_at
        with pytest.raises(TimeError, match="no time limit"):
            add_time(assignment=assignment, seconds=60, by=teacher, at=NOON)

    def test_the_pages_say_so(self, client_of, assignment: Assignment, pupil: User, set_clock) -> None:
        set_clock(NOON)
        client, address = client_of(pupil), reverse("assignments:start", args=[assignment.pk])
        assert "3 questions, no time limit" in client.get(reverse("assignments:my_sets")).content.decode()
        assert "You have no time limit." in client.get(address).content.decode()
        question = client.get(client.post(address)["Location"]).content.decode()
        assert '<span class="quiet" data-time-words>no time limit</span>' in question
        assert "You can go on until Sun 17 May 2026, 13:00." in client.get(address).content.decode()

    def test_it_is_set_when_the_set_is_sent(self, client_of, teacher: User, school, school_class, set_clock) -> None:
        set_clock(NOON)
        question_set = make_set(school, [make_question(school)])
        fields = {"opens_at": "2026-05-14T13:00", "closes_at": "2026-05-15T13:00", "feedback": "now"}
        address = reverse("assignments:assign", args=[question_set.pk])
        refused = client_of(teacher).post(address, fields | {"class": school_class.pk})
        assert "or choose no time limit" in refused.content.decode()
        client_of(teacher).post(address, fields | {"class": school_class.pk, "untimed": "on"})
        made = Assignment.objects.latest("pk")
        assert (made.is_untimed, made.closing_cuts) == (True, True)


def test_going_on_with_the_same_device_takes_no_new_turn(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class)
    start(assignment, pupil)
    assert start(assignment, pupil).epoch == 1
    assert start(assignment, pupil, device="phone").epoch == 2
    assert start(assignment, pupil).epoch == 3


class TestThePage:
    def test_it_says_how_many_and_how_long_and_starts_nothing_by_itself(
        self, client_of, school_class: SchoolClass, pupil: User, set_clock
    ) -> None:
        assignment = make_assignment(school_class)
        set_clock(NOON)
        page = client_of(pupil).get(reverse("assignments:start", args=[assignment.pk]))
        assert "3 questions. You have 1 minute 30 seconds." in page.content.decode()
        assert not Sitting.objects.exists()

    def test_start_leads_to_the_first_question_and_going_on_to_the_first_without_answer(
        self, client_of, school_class: SchoolClass, pupil: User, set_clock
    ) -> None:
        assignment = make_assignment(school_class)
        set_clock(NOON)
        client, address = client_of(pupil), reverse("assignments:start", args=[assignment.pk])
        sitting_page = client.post(address)
        sitting = Sitting.objects.get()
        assert sitting_page["Location"] == reverse("assignments:sitting", args=[sitting.pk, 1])
        assert client.post(address)["Location"] == reverse("assignments:sitting", args=[sitting.pk, 1])

    @pytest.mark.parametrize(
        ("minutes", "says"), [(-1, "This set opens Thu 14 May 2026, 13:00."), (24 * 60, "This set has closed.")]
    )
    def test_too_early_or_too_late_it_says_so_and_starts_nothing(
        self, client_of, school_class: SchoolClass, pupil: User, set_clock, minutes: int, says: str
    ) -> None:
        assignment = make_assignment(school_class)
        set_clock(NOON + timedelta(minutes=minutes))
        answer = client_of(pupil).post(reverse("assignments:start", args=[assignment.pk]))
        assert answer.status_code == 409
        assert says in answer.content.decode()
        assert not Sitting.objects.exists()

    def test_k7_anothers_set_and_none_are_the_same_404(
        self, client_of, school_class: SchoolClass, other_pupil: User, foreign_pupil: User
    ) -> None:
        assignment = make_assignment(school_class)
        for stranger in (other_pupil, foreign_pupil):
            client = client_of(stranger)
            for number in (assignment.pk, assignment.pk + 1000):
                assert client.get(reverse("assignments:start", args=[number])).status_code == 404
                assert client.post(reverse("assignments:start", args=[number])).status_code == 404
        assert not Sitting.objects.exists()

    def test_another_device_is_asked_to_continue_and_then_may(
        self, client_of, school_class: SchoolClass, pupil: User, set_clock
    ) -> None:
        assignment = make_assignment(school_class)
        set_clock(NOON)
        address = reverse("assignments:start", args=[assignment.pk])
        tablet, phone = client_of(pupil), client_of(pupil)
        first = tablet.post(address)["Location"]
        assert phone.get(first)["Location"] == address
        assert "open on another device" in phone.get(address).content.decode()
        assert phone.get(phone.post(address)["Location"]).status_code == 200
        assert tablet.get(first)["Location"] == address
