"""Keeping what a pupil does: R1 to R4, R6 and R7 of a fair sitting (durable, nothing twice, in order, by one clock)."""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from accounts.models import SchoolClass, User
from assignments.errors import (
    AlreadyFinished,
    AlreadyTold,
    ChangedRepeat,
    NotCheckedSingly,
    NothingToCheck,
    OrderTaken,
    OtherDevice,
)
from assignments.marking import mark
from assignments.models import Event, Feedback, Sitting
from assignments.queries import acts_of, as_asked, questions_of
from assignments.services.sittings import finish_sitting, record_event, start_sitting
from tests.assignments.factories import NOON, make_assignment, make_sitting

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
LIMIT = NOON + timedelta(seconds=90)


@pytest.fixture
def sitting(school_class: SchoolClass, pupil: User) -> Sitting:
    return make_sitting(make_assignment(school_class), pupil)


def send(
    sitting: Sitting,
    letter: str = "A",
    *,
    place: int = 1,
    seq: int | None = None,
    epoch: int = 1,
    client_id: UUID | None = None,
    at: datetime = NOON + timedelta(seconds=20),
    kind: str = "choose",
) -> Event:
    return record_event(
        sitting=sitting,
        question_id=sitting.paper[place - 1]["question"],
        kind=kind,
        option=letter,
        client_id=client_id or uuid4(),
        epoch=epoch,
        seq=seq,
        at=at,
    )


def choices(sitting: Sitting) -> str:
    asked = [as_asked(question) for question in questions_of(sitting.assignment)]
    marks = mark(acts_of([sitting])[sitting.pk], asked, sitting.started_at)
    return "".join(one.choice or "-" for one in marks.each)


def test_r1_a_choice_is_stored_as_it_was_sent(sitting: Sitting) -> None:
    client_id = uuid4()
    send(sitting, "D", place=2, seq=7, client_id=client_id)
    stored = Event.objects.get()
    assert (stored.client_id, stored.option, stored.epoch, stored.seq) == (client_id, "D", 1, 7)
    assert stored.question_id == sitting.paper[1]["question"]
    assert stored.received_at == NOON + timedelta(seconds=20)


def test_r2_nothing_is_stored_that_was_not_sent(sitting: Sitting) -> None:
    finish_sitting(sitting=sitting, at=NOON + timedelta(seconds=30))
    assert not Event.objects.exists()


def test_r3_a_repeat_is_answered_as_before_and_counts_once(sitting: Sitting) -> None:
    client_id = uuid4()
    first = send(sitting, "A", seq=1, client_id=client_id)
    again = send(sitting, "A", seq=1, client_id=client_id, at=NOON + timedelta(seconds=44))
    assert again.pk == first.pk
    assert again.received_at == first.received_at
    assert Event.objects.count() == 1


def test_r3_a_repeat_is_answered_even_after_the_sitting_went_on_elsewhere_and_ended(sitting: Sitting) -> None:
    client_id = uuid4()
    first = send(sitting, "A", client_id=client_id)
    start_sitting(assignment=sitting.assignment, pupil=sitting.pupil, device="phone", at=NOON)
    finish_sitting(sitting=sitting, at=NOON + timedelta(seconds=30))
    assert send(sitting, "A", client_id=client_id).pk == first.pk


@pytest.mark.parametrize("changed", [{"letter": "B"}, {"place": 2}, {"kind": "flag"}])
def test_r3_the_same_name_with_other_content_is_refused_and_the_first_stays(sitting: Sitting, changed: dict) -> None:
    client_id = uuid4()
    send(sitting, "A", client_id=client_id)
    with pytest.raises(ChangedRepeat, match="The first one stays"):
        send(sitting, changed.pop("letter", "A"), client_id=client_id, **changed)
    assert choices(sitting) == "A--"


def test_r4_the_greater_count_wins_whatever_arrives_last(sitting: Sitting) -> None:
    send(sitting, "B", seq=2)
    send(sitting, "A", seq=1, at=NOON + timedelta(seconds=25))
    assert choices(sitting) == "B--"


def test_r4_two_events_cannot_take_one_place_in_the_order(sitting: Sitting) -> None:
    send(sitting, "A", seq=3)
    with pytest.raises(OrderTaken) as refusal:
        send(sitting, "B", seq=3)
    assert refusal.value.next_seq == 4
    assert choices(sitting) == "A--"


def test_r4_without_a_count_of_its_own_a_form_takes_the_next(sitting: Sitting) -> None:
    send(sitting, "A", seq=8)
    assert send(sitting, "B", seq=None).seq == 9
    assert choices(sitting) == "B--"


def test_r4_another_device_takes_over_and_the_older_may_write_no_more(sitting: Sitting) -> None:
    send(sitting, "A", seq=50)
    on_phone = start_sitting(assignment=sitting.assignment, pupil=sitting.pupil, device="phone", at=NOON)
    assert on_phone.epoch == 2
    with pytest.raises(OtherDevice, match="another device"):
        send(sitting, "B", seq=51, epoch=1)
    send(sitting, "C", seq=1, epoch=2)
    assert choices(sitting) == "C--"


def test_r4_an_epoch_that_was_never_given_is_refused(sitting: Sitting) -> None:
    with pytest.raises(OtherDevice):
        send(sitting, epoch=2)


def test_r6_a_choice_on_its_way_at_the_deadline_counts_up_to_five_seconds_after(sitting: Sitting) -> None:
    event = send(sitting, "A", at=LIMIT + timedelta(seconds=5))
    assert not event.is_late
    assert choices(sitting) == "A--"


def test_r6_later_than_that_it_is_kept_and_marked_late(sitting: Sitting) -> None:
    event = send(sitting, "A", at=LIMIT + timedelta(seconds=5, milliseconds=1))
    assert event.is_late
    assert Event.objects.count() == 1
    assert choices(sitting) == "---"


def test_r6_extra_time_is_never_cut_by_the_closing_time(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class, closes_at=NOON + timedelta(seconds=60))
    sitting = make_sitting(assignment, pupil, allowance=180)
    assert not send(sitting, at=NOON + timedelta(seconds=180)).is_late


def test_r6_unless_the_set_says_so(school_class: SchoolClass, pupil: User) -> None:
    assignment = make_assignment(school_class, closes_at=NOON + timedelta(seconds=60), closing_cuts=True)
    sitting = make_sitting(assignment, pupil, allowance=180)
    assert sitting.deadline == NOON + timedelta(seconds=60)
    assert send(sitting, at=NOON + timedelta(seconds=66)).is_late


def test_r7_a_clock_set_back_reopens_nothing(sitting: Sitting) -> None:
    send(sitting, "A", at=LIMIT + timedelta(seconds=6))
    event = send(sitting, "B", at=NOON)
    assert event.is_late
    assert event.received_at == LIMIT + timedelta(seconds=6)
    sitting.refresh_from_db()
    assert not sitting.is_running(NOON)


def test_r7_nor_when_the_end_was_all_that_was_written(sitting: Sitting) -> None:
    finish_sitting(sitting=sitting, at=LIMIT + timedelta(seconds=1))
    assert send(sitting, "B", at=NOON - timedelta(hours=1)).is_late


def test_r7_received_never_goes_backwards_in_a_sitting(sitting: Sitting) -> None:
    send(sitting, "A", at=NOON + timedelta(seconds=40))
    assert send(sitting, "B", at=NOON + timedelta(seconds=20)).received_at == NOON + timedelta(seconds=40)


def test_r8_after_handing_in_nothing_more_is_kept(sitting: Sitting) -> None:
    send(sitting, "A")
    finish_sitting(sitting=sitting, at=NOON + timedelta(seconds=30))
    with pytest.raises(AlreadyFinished, match="You have finished"):
        send(sitting, "B", at=NOON + timedelta(seconds=31))
    assert choices(sitting) == "A--"


def test_r8_handing_in_twice_is_once(sitting: Sitting) -> None:
    first = finish_sitting(sitting=sitting, at=NOON + timedelta(seconds=30))
    second = finish_sitting(sitting=sitting, at=NOON + timedelta(seconds=50))
    assert first.finished_at == second.finished_at == NOON + timedelta(seconds=30)


def test_r8_one_left_lying_ends_at_its_deadline_though_nobody_wrote_so(sitting: Sitting) -> None:
    assert sitting.is_running(LIMIT)
    later = LIMIT + timedelta(milliseconds=1)
    assert not sitting.is_running(later)
    assert sitting.ended_at(later + timedelta(days=30)) == LIMIT
    assert finish_sitting(sitting=sitting, at=LIMIT + timedelta(hours=1)).finished_at == LIMIT


class TestCheckedAtOnce:
    """Feedback after each question: asking to be told fixes the choice (R12)."""

    @pytest.fixture
    def sitting(self, school_class: SchoolClass, pupil: User) -> Sitting:
        return make_sitting(make_assignment(school_class, feedback=Feedback.NOW), pupil)

    def test_a_checked_choice_stays(self, sitting: Sitting) -> None:
        send(sitting, "A")
        send(sitting, "", kind="lock")
        with pytest.raises(AlreadyTold, match="stays as it was"):
            send(sitting, "C")
        assert choices(sitting) == "A--"

    def test_the_others_may_still_be_chosen(self, sitting: Sitting) -> None:
        send(sitting, "A")
        send(sitting, "", kind="lock")
        send(sitting, "A", place=2)
        assert choices(sitting) == "AA-"

    def test_there_must_be_a_choice_to_check(self, sitting: Sitting) -> None:
        with pytest.raises(NothingToCheck):
            send(sitting, "", kind="lock")

    def test_where_feedback_comes_later_nothing_is_checked_singly(
        self, school_class: SchoolClass, other_pupil: User
    ) -> None:
        sitting = make_sitting(make_assignment(school_class), other_pupil, choices="A")
        with pytest.raises(NotCheckedSingly):
            send(sitting, "", kind="lock")
