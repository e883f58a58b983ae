"""What a teacher does to the time of sittings (R6, R7): more, stopped, ended, reopened; and all of it on record."""

from __future__ import annotations

from datetime import timedelta

import pytest

from accounts.models import SchoolClass, User
from assignments.errors import AssignmentError, TimeError
from assignments.models import Assignment, Feedback, Sitting, TimeChange
from assignments.services import timing
from assignments.services.sittings import finish_sitting, start_sitting
from assignments.services.timing import add_time
from assignments.time_record import changes_of, said_of
from assignments.timekeeping import NO_END
from tests.assignments.factories import NOON, make_assignment, make_sitting
from tests.assignments.test_commands import run
from tests.assignments.test_recording import send
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.django_db


def after(seconds: float):
    return NOON + timedelta(seconds=seconds)


@pytest.fixture
def assignment(school_class: SchoolClass) -> Assignment:
    return make_assignment(school_class)


@pytest.fixture
def sitting(assignment: Assignment, pupil: User) -> Sitting:
    return make_sitting(assignment, pupil)


def again(sitting: Sitting) -> Sitting:
    """As it now stands in the database, and as its entries say it should."""
    fresh = Sitting.objects.select_related("assignment").get(pk=sitting.pk)
    kept = (fresh.given, fresh.stopped_at, fresh.stopped_until)
    assert timing.reckoned_for([fresh])[fresh.pk] == kept
    return fresh


class TestMoreTimeForAll:
    def test_it_reaches_who_sits_now_who_ran_out_and_who_is_yet_to_start(
        self, assignment: Assignment, pupil: User, teacher: User
    ) -> None:
        sitting = make_sitting(assignment, pupil, allowance=135, extra_percent=50)
        late = sitting.deadline + timedelta(seconds=30)
        finish_sitting(sitting=sitting, at=late)
        assert add_time(assignment=assignment, seconds=60, note="Bell", by=teacher, at=late) == 1
        assert again(sitting).deadline == after(135 + 90)  # a minute, and half of it more
        assert again(sitting).is_running(late)
        assignment.refresh_from_db()
        assert assignment.allowance == 150

    def test_it_does_not_reopen_what_was_handed_in(self, assignment: Assignment, pupil: User, teacher: User) -> None:
        sitting = make_sitting(assignment, pupil, finished_at=after(50))
        assert add_time(assignment=assignment, seconds=60, by=teacher, at=after(60)) == 0
        assert not again(sitting).is_running(after(61))

    def test_it_does_not_reopen_a_sitting_whose_answers_may_have_been_seen(
        self, school_class: SchoolClass, pupil: User, teacher: User
    ) -> None:
        sitting = make_sitting(make_assignment(school_class, feedback=Feedback.NOW), pupil)
        assert add_time(assignment=sitting.assignment, seconds=60, by=teacher, at=after(300)) == 0
        assert not again(sitting).is_running(after(120))

    def test_nor_a_set_whose_answers_the_class_can_see(self, sitting: Sitting, teacher: User) -> None:
        late = sitting.assignment.closes_at + timedelta(minutes=1)
        with pytest.raises(AssignmentError, match="can already see the answers"):
            add_time(assignment=sitting.assignment, seconds=60, by=teacher, at=late)

    def test_no_more_than_four_hours(self, assignment: Assignment, teacher: User) -> None:
        with pytest.raises(TimeError, match="four hours"):
            add_time(assignment=assignment, seconds=4 * 3600, by=teacher, at=NOON)


class TestTheClockStands:
    def test_for_all_and_no_time_passes(self, sitting: Sitting, teacher: User) -> None:
        timing.pause_all(assignment=sitting.assignment, by=teacher, at=after(30))
        stopped = again(sitting)
        assert stopped.is_stopped(after(10_000))
        assert stopped.seconds_left(after(10_000)) == 60
        assert stopped.deadline == NO_END
        timing.resume_all(assignment=sitting.assignment, by=teacher, at=after(1030))
        assert again(sitting).deadline == after(90 + 1000)
        assert not again(sitting).is_stopped(after(1030))

    def test_a_choice_that_arrives_meanwhile_counts(self, sitting: Sitting, teacher: User) -> None:
        timing.pause_all(assignment=sitting.assignment, by=teacher, at=after(30))
        assert not send(sitting, at=after(500)).is_late

    def test_whoever_starts_meanwhile_has_the_whole_time(self, assignment: Assignment, pupil: User, teacher) -> None:
        timing.pause_all(assignment=assignment, by=teacher, at=after(10))
        sitting = start_sitting(assignment=assignment, pupil=pupil, device="tablet", at=after(60))
        assert sitting.is_stopped(after(70))
        timing.resume_all(assignment=assignment, by=teacher, at=after(100))
        assert again(sitting).deadline == after(100 + 90)

    def test_twice_is_said_and_leaves_no_entry(self, assignment: Assignment, teacher: User) -> None:
        with pytest.raises(TimeError, match="running already"):
            timing.resume_all(assignment=assignment, by=teacher, at=NOON)
        timing.pause_all(assignment=assignment, by=teacher, at=NOON)
        with pytest.raises(TimeError, match="stands already"):
            timing.pause_all(assignment=assignment, by=teacher, at=NOON)
        assert TimeChange.objects.count() == 1

    def test_r12_while_it_stands_nobody_is_told(self, sitting: Sitting, school_class, teacher, client_of) -> None:
        from assignments.queries import last_running_deadline

        timing.pause_all(assignment=sitting.assignment, by=teacher, at=after(30))
        assert last_running_deadline(sitting.assignment) == NO_END


class TestOnePupil:
    def test_gets_more_time_while_it_runs(self, sitting: Sitting, teacher: User) -> None:
        timing.extend_one(sitting=sitting, seconds=60, note="Tablet", by=teacher, at=after(20))
        assert again(sitting).deadline == after(150)

    def test_who_has_ended_is_reopened_from_now_on(self, sitting: Sitting, teacher: User) -> None:
        finish_sitting(sitting=sitting, at=after(40))
        with pytest.raises(TimeError, match="Reopen it"):
            timing.extend_one(sitting=again(sitting), seconds=60, note="x", by=teacher, at=after(50))
        timing.reopen(sitting=again(sitting), seconds=120, note="Pressed by mistake", by=teacher, at=after(200))
        reopened = again(sitting)
        assert (reopened.is_running(after(319)), reopened.is_running(after(321))) == (True, False)
        assert not send(reopened, at=after(300)).is_late
        assert TimeChange.objects.get().had_ended_at == after(40)

    def test_who_has_not_ended_is_not_reopened(self, sitting: Sitting, teacher: User) -> None:
        with pytest.raises(TimeError, match="nothing to reopen"):
            timing.reopen(sitting=sitting, seconds=60, note="x", by=teacher, at=after(10))

    def test_who_may_have_seen_the_answers_is_not_reopened(
        self, school_class: SchoolClass, pupil: User, teacher: User
    ) -> None:
        sitting = make_sitting(make_assignment(school_class, feedback=Feedback.NOW), pupil, finished_at=after(30))
        with pytest.raises(TimeError, match="already see the answers"):
            timing.reopen(sitting=sitting, seconds=60, note="x", by=teacher, at=after(60))
        assert again(sitting).finished_at == after(30)

    def test_is_ended_then_and_what_was_chosen_counts(self, sitting: Sitting, teacher: User) -> None:
        send(sitting, at=after(20))
        timing.end_one(sitting=sitting, note="Ill", by=teacher, at=after(30))
        assert again(sitting).ended_at(after(31)) == after(30)
        assert send(sitting, "B", place=2, at=after(36)).is_late

    def test_closing_that_cuts_comes_first_and_that_is_said(self, school_class, pupil: User, teacher: User) -> None:
        assignment = make_assignment(school_class, closes_at=after(100), closing_cuts=True)
        sitting = make_sitting(assignment, pupil)
        with pytest.raises(TimeError, match="it comes first"):
            timing.extend_one(sitting=sitting, seconds=60, note="x", by=teacher, at=after(10))
        assert not TimeChange.objects.exists()

    def test_r7_a_clock_set_back_between_end_and_reopening_gives_no_more(self, sitting: Sitting, teacher) -> None:
        send(sitting, at=after(80))
        timing.end_one(sitting=sitting, note="x", by=teacher, at=after(-500))
        assert again(sitting).deadline == after(80)


class TestTheEndForAll:
    def test_nobody_goes_on_or_starts(self, sitting: Sitting, school_class: SchoolClass, teacher: User) -> None:
        assert timing.end_all(assignment=sitting.assignment, note="Fire drill", by=teacher, at=after(30)) == 1
        assert again(sitting).deadline == after(30)
        assert not again(sitting).assignment.is_open(after(30))

    def test_before_it_opens_there_is_nothing_to_end(self, assignment: Assignment, teacher: User) -> None:
        with pytest.raises(TimeError, match="not open yet"):
            timing.end_all(assignment=assignment, note="x", by=teacher, at=after(-60))


class TestTheRecord:
    def test_it_tells_what_was_done_by_whom_and_why(self, sitting: Sitting, school_class, teacher: User) -> None:
        enrol(make_pupil(school_class.school, "Ulf"), school_class)
        facts = {"by": teacher}
        add_time(assignment=sitting.assignment, seconds=60, note="Bell rang", at=after(10), **facts)
        timing.pause_all(assignment=sitting.assignment, at=after(20), **facts)
        timing.resume_all(assignment=sitting.assignment, at=after(40), **facts)
        timing.end_one(sitting=sitting, note="Called away", at=after(50), **facts)
        said = [(one.says, one.by, one.note) for one in said_of(changes_of(sitting.assignment))]
        assert said == [
            ("Ended for Fenna.", "Edda Marlin", "Called away"),
            ("The clock was started again for everybody.", "Edda Marlin", ""),
            ("The clock was stopped for everybody.", "Edda Marlin", ""),
            ("1 minute more for everybody.", "Edda Marlin", "Bell rang"),
        ]
        own = [one.says for one in said_of(changes_of(sitting.assignment, sitting))]
        assert own == [says for says, _, _ in said]

    def test_recompute_gives_the_same_time_and_finds_one_that_was_tampered_with(self, sitting, teacher) -> None:
        from django.core.management import CommandError

        timing.extend_one(sitting=sitting, seconds=60, note="x", by=teacher, at=after(10))
        (first,) = run("recompute", sitting.assignment_id, check=True)
        assert (first["given"], first["deadline"]) == (60, after(150).isoformat())
        assert run("recompute", sitting.assignment_id, check=True) == [first]
        Sitting.objects.update(given=timedelta(hours=1))
        with pytest.raises(CommandError, match="the time of sitting"):
            run("recompute", sitting.assignment_id, check=True)
