"""The teacher's monitor: what it shows of each pupil, what a look costs, and the buttons beside it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.urls import reverse

from accounts.models import SchoolClass, User
from assignments.contact import note_contact
from assignments.models import Addressee, AssignedQuestion, Assignment, Sitting, TimeChange
from assignments.monitor import State, Watched, monitor_of
from assignments.services import timing
from assignments.services.paper_marks import PaperAnswers, enter_answers
from tests.assignments.factories import NOON, choose, make_assignment, make_question, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.django_db
NOW = NOON + timedelta(minutes=2)


@pytest.fixture(autouse=True)
def _empty_cache():
    cache.clear()


@pytest.fixture
def assignment(school_class: SchoolClass) -> Assignment:
    return make_assignment(school_class, allowance=600)


def join(assignment: Assignment, name: str, **sitting: object) -> Sitting | User:
    pupil = make_pupil(assignment.school_class.school, name)
    enrol(pupil, assignment.school_class)
    return make_sitting(assignment, pupil, **sitting) if sitting else pupil


def seen(assignment: Assignment) -> dict[str, Watched]:
    return {row.name: row for row in monitor_of(assignment, NOW).rows}


def test_it_shows_how_each_pupil_goes(assignment: Assignment, pupil: User) -> None:
    working = join(assignment, "Ada", choices="C")
    choose(working, 2, "A", seq=5, at=NOW - timedelta(seconds=10))
    choose(working, 3, "A", seq=6, at=NOW - timedelta(seconds=9), is_late=True)
    join(assignment, "Bo", choices="CA", finished_at=NOON + timedelta(seconds=50))
    join(assignment, "Cy", choices="CAE", allowance=60)
    quiet = join(assignment, "Di", started_at=NOON - timedelta(minutes=5))
    rows = seen(assignment)
    assert {name: row.state for name, row in rows.items()} == {
        "Ada": State.WORKING,
        "Bo": State.HANDED_IN,
        "Cy": State.OVER,
        "Di": State.QUIET,
        "Fenna": State.ABSENT,
    }
    assert (rows["Ada"].answered, rows["Ada"].left, rows["Ada"].minutes_left) == (2, 1, 8)
    assert (rows["Di"].answered, rows["Di"].quiet) == (0, 7)
    note_contact(quiet.pk, NOW - timedelta(seconds=20))
    assert seen(assignment)["Di"].state is State.WORKING


def test_one_who_left_the_class_in_mid_sitting_is_still_there(assignment: Assignment) -> None:
    sitting = join(assignment, "Ada", choices="C")
    sitting.pupil.enrolments.all().delete()
    assert "Ada" in seen(assignment)


def test_of_a_set_for_some_of_the_class_only_they_are_waited_for(assignment: Assignment) -> None:
    for_one = join(assignment, "Ada")
    join(assignment, "Bo")
    Assignment.objects.filter(pk=assignment.pk).update(for_some=True)
    Addressee.objects.create(assignment=assignment, pupil=for_one)
    assignment.refresh_from_db()
    assert list(seen(assignment)) == ["Ada"]


def test_of_a_paper_typed_in_more_than_once_the_answers_that_count_are_counted(
    school_class: SchoolClass, pupil: User, teacher: User
) -> None:
    """The other paper at first, by mistake: its three questions are not the pupil's."""
    assignment = make_assignment(school_class)
    for position in range(1, 4):
        version = make_question(school_class.school).current
        AssignedQuestion.objects.create(assignment=assignment, version=version, paper=2, position=position)
    Assignment.objects.filter(pk=assignment.pk).update(second_set=assignment.question_set)
    assignment.refresh_from_db()
    facts = {"assignment": assignment, "sat_at": NOON, "by": teacher, "at": NOW}
    for paper, letters in ((2, "ABC"), (1, "A--")):
        enter_answers(answers=[PaperAnswers(pupil, paper, letters)], **facts)
    (row,) = monitor_of(assignment, NOW).rows
    assert (row.state, row.answered, row.left) == (State.PAPER, 1, 2)


def test_a_look_costs_the_same_whatever_the_size_of_the_class(
    assignment: Assignment, client_of, teacher: User, set_clock, django_assert_num_queries
) -> None:
    client, address = client_of(teacher), reverse("assignments:monitor", args=[assignment.pk])
    set_clock(NOW)
    join(assignment, "Ada", choices="C")
    client.get(address)
    with django_assert_num_queries(8):  # two for who asks, one for the assignment, five for the class
        client.get(f"{address}?seen=0")
    for number in range(20):
        join(assignment, f"Pupil {number}", choices="CA")
    with django_assert_num_queries(8):
        client.get(f"{address}?seen=0")


def test_where_nothing_is_new_nothing_is_sent(assignment: Assignment, client_of, teacher: User, set_clock) -> None:
    client, address = client_of(teacher), reverse("assignments:monitor", args=[assignment.pk])
    sitting = join(assignment, "Ada", choices="C")
    note_contact(sitting.pk, NOW)
    set_clock(NOW)
    digest = monitor_of(assignment, NOW).digest
    assert f"?seen={digest}" in client.get(address).content.decode()
    again = client.get(f"{address}?seen={digest}")
    assert (again.status_code, again.content) == (204, b"")
    choose(sitting, 2, "B", seq=9, at=NOW)
    news = client.get(f"{address}?seen={digest}")
    assert news.status_code == 200
    assert "2 of 3" in news.content.decode()
    assert "<html" not in news.content.decode()


class TestTheButtons:
    @pytest.fixture
    def sitting(self, assignment: Assignment, pupil: User) -> Sitting:
        return make_sitting(assignment, pupil, choices="C")

    @pytest.fixture
    def press(self, assignment: Assignment, client_of, teacher: User, set_clock):
        client, address = client_of(teacher), reverse("assignments:change_time", args=[assignment.pk])
        set_clock(NOW)
        return lambda deed, **fields: client.post(address, {"deed": deed} | fields, follow=True)

    def test_each_does_what_it_says(self, press, sitting: Sitting, set_clock) -> None:
        one = {"pupil-pupil": str(sitting.pupil_id), "pupil-note": "Tablet", "pupil-seconds": "3"}
        assert "3 minutes more for Fenna." in press("extend_one", **one).content.decode()
        everybody = {"class-note": "Bell", "class-seconds": "2:00"}
        assert "2 minutes more for everybody; 1 running" in press("extend_all", **everybody).content.decode()
        assert "The clock stands for everybody." in press("pause").content.decode()
        assert "Start the clock again" in press("nonsense").content.decode()
        assert "The clock runs again." in press("resume").content.decode()
        assert "Ended for Fenna." in press("end_one", **one).content.decode()
        set_clock(NOW + timedelta(seconds=1))
        assert "Reopened for Fenna: 3 minutes from now." in press("reopen", **one).content.decode()
        assert "The set is ended for everybody; 1 running" in press("end_all", **everybody).content.decode()
        kinds = list(TimeChange.objects.order_by("pk").values_list("kind", "for_all"))
        assert kinds == [
            *[("extend", False), ("extend", True), ("extend", True), ("pause", True), ("resume", True)],
            *[("end", False), ("reopen", False), ("end", True), ("end", True)],
        ]

    @pytest.mark.parametrize(
        ("deed", "fields", "says"),
        [
            ("extend_all", {"class-seconds": "5"}, "Say in a few words why"),
            ("extend_all", {"class-note": "Bell", "class-seconds": "soon"}, "Write minutes and seconds"),
            ("end_one", {"pupil-note": "x"}, "Choose one at “Pupil”."),
            ("end_one", {"pupil-note": "x", "pupil-pupil": "999999"}, "What was chosen at “Pupil” is not offered."),
            ("reopen", {"pupil-note": "x", "pupil-seconds": "5"}, "nothing to reopen"),
            ("resume", {"class-note": "kept words"}, "running already"),
            ("burn", {}, "Press one of the buttons"),
        ],
    )
    def test_what_does_not_fit_is_said_and_loses_nothing_typed(
        self, press, sitting: Sitting, deed: str, fields: dict, says: str
    ) -> None:
        if deed == "reopen":
            fields |= {"pupil-pupil": str(sitting.pupil_id)}
        answer = press(deed, **fields)
        page = answer.content.decode()
        assert answer.status_code == 400
        assert says in page
        assert all(value in page for name, value in fields.items() if name != "pupil-pupil")
        assert not TimeChange.objects.exists()

    def test_where_nobody_is_at_work_or_can_begin_there_is_nothing_to_stop_or_end(
        self, sitting: Sitting, client_of, teacher: User, set_clock
    ) -> None:
        address = reverse("assignments:monitor", args=[sitting.assignment_id])
        offered = []
        for at in (NOW, NOON + timedelta(hours=1), NOON + timedelta(days=2)):  # at work; time is up; closed
            set_clock(at)
            page = client_of(teacher).get(address).content.decode()
            offered.append(("Stop the clock" in page, "End for everybody" in page, "Give everybody more time" in page))
        assert offered == [(True, True, True), (True, True, True), (False, False, True)]

    def test_who_may_only_look_has_no_buttons(self, sitting: Sitting, client_of, administrator: User) -> None:
        page = client_of(administrator).get(reverse("assignments:monitor", args=[sitting.assignment_id]))
        assert "Stop the clock" not in page.content.decode()
        assert "Fenna" in page.content.decode()


class TestThePupilsPage:
    @pytest.fixture
    def sitting(self, assignment: Assignment, pupil: User, client_of, set_clock) -> Sitting:
        set_clock(NOON)
        self.client = client_of(pupil)
        self.client.post(reverse("assignments:start", args=[assignment.pk]))
        return Sitting.objects.get()

    def test_while_the_clock_stands_the_questions_are_hidden_and_time_stands(
        self, sitting: Sitting, teacher: User, set_clock
    ) -> None:
        question = reverse("assignments:sitting", args=[sitting.pk, 1])
        start = reverse("assignments:start", args=[sitting.assignment_id])
        timing.pause_all(assignment=sitting.assignment, by=teacher, at=NOW)
        set_clock(NOW + timedelta(hours=1))
        assert self.client.get(question)["Location"] == start
        assert self.client.get(reverse("assignments:finish", args=[sitting.pk]))["Location"] == start
        page = self.client.get(start).content.decode()
        assert "Your teacher has stopped the clock." in page
        assert "stands at 8 minutes left" in page
        told = self.client.get(reverse("assignments:time_left", args=[sitting.pk])).json()
        assert told == {"seconds_left": 480, "stopped": True}
        timing.resume_all(assignment=sitting.assignment, by=teacher, at=NOW + timedelta(hours=1))
        assert self.client.get(question).status_code == 200

    def test_asking_for_the_time_shows_that_the_page_is_there(self, sitting: Sitting, set_clock) -> None:
        set_clock(NOW)
        assert monitor_of(sitting.assignment, NOW).rows[0].state is State.QUIET
        self.client.get(reverse("assignments:time_left", args=[sitting.pk]))
        assert monitor_of(sitting.assignment, NOW).rows[0].state is State.WORKING
