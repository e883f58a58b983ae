"""Start a sitting, keep what the pupil does in it, end it. The rules of a fair test are here and nowhere else.

``at`` is the database's time, asked before anything was waited for (``clock.database_now``).
"""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random
from secrets import SystemRandom
from uuid import UUID, uuid5

from django.db import IntegrityError, transaction
from django.db.models import F, Max

from accounts.models import User
from assignments.errors import (
    AlreadyFinished,
    AlreadyTold,
    ChangedRepeat,
    NotCheckedSingly,
    NothingToCheck,
    NotOpen,
    OrderTaken,
    OtherDevice,
)
from assignments.handing_out import paper_for
from assignments.limits import question_deadline
from assignments.marking import Act
from assignments.models import GRACE, Assignment, Event, ExtraTime, Feedback, Sitting
from assignments.papers import draw_paper
from assignments.queries import acts_of, stops_of
from assignments.services.so_far import SoFar, so_far
from assignments.services.timing import keep_reckoned
from assignments.timekeeping import with_extra

Kind = Event.Kind
LONGEST_WAIT = timedelta(seconds=30)  # for a row's lock; the database gives up sooner


def start_sitting(*, assignment: Assignment, pupil: User, device: str, at: datetime) -> Sitting:
    """Start the pupil's one sitting, or carry on with it on this ``device`` (a digest of its session).

    Of many starts at once the database's unique key lets one begin; the others find it begun. A device that takes
    over gets the next epoch, and the one before it may write no more.
    """
    existing = Sitting.objects.filter(assignment=assignment, pupil=pupil)
    if not existing.exists():
        _refuse_unless_open(assignment, at)
        try:
            with transaction.atomic():
                return _begin(assignment, pupil, device, at)
        except IntegrityError:
            if not existing.exists():  # the assignment was taken back meanwhile
                raise NotOpen(
                    "Your teacher has taken this set back.", assignment.opens_at, assignment.closes_at
                ) from None
    on_screen = existing.filter(entered_at=None)  # one on paper is over, and its epochs count what was typed in
    on_screen.exclude(device=device).update(device=device, epoch=F("epoch") + 1)
    return existing.select_related("assignment").get()


def extra_percent(assignment: Assignment, pupil: User) -> int:
    """Return the pupil's extra time here, in per cent: what was set for this assignment, else what is agreed."""
    own = ExtraTime.objects.filter(assignment=assignment, pupil=pupil).values_list("percent", flat=True).first()
    return pupil.extra_time if own is None else own


def record_event(
    *,
    sitting: Sitting,
    question_id: int,
    kind: str,
    client_id: UUID,
    epoch: int,
    seq: int | None,
    at: datetime,
    option: str = "",
) -> Event:
    """Keep one thing the pupil did, and return it once it is stored; a repeat returns what is stored already.

    ``option`` is the version's own letter. ``seq`` is the device's own count; ``None`` takes the next. What comes
    more than the grace after the deadline, or after the question's own limit, is kept, marked late. Raises a
    ``Refused`` for what may not be kept.
    """
    with transaction.atomic():
        held = _held(sitting)
        before = so_far(held.pk, question_id, epoch, seq, client_id)
        if before.is_repeat:
            return _repeat(held.events.get(client_id=client_id), question_id, kind, option)
        _refuse_unless_writable(held, before, epoch, kind)
        received = max(at, before.last or at)  # a clock set back reopens nothing
        is_over = received > held.deadline + GRACE or _is_set_back(held, at)
        event = held.events.create(
            question_id=question_id,
            kind=kind,
            option=option,
            client_id=client_id,
            epoch=epoch,
            seq=(before.last_seq or 0) + 1 if seq is None else seq,
            received_at=received,
            is_late=is_over or _is_past_limit(held, question_id, received),
        )
        if is_over and held.finished_at is None:
            _end(held, received)
        return event


def note_opened(*, sitting: Sitting, question_id: int, at: datetime) -> None:
    """Keep that the pupil came to a question, where that starts its own limit; twice is once."""
    if sitting.assignment.question_seconds is not None:
        record_event(
            sitting=sitting,
            question_id=question_id,
            kind=Kind.OPEN,
            client_id=uuid5(UUID(int=sitting.pk), str(question_id)),
            epoch=sitting.epoch,
            seq=None,
            at=at,
        )


def finish_sitting(*, sitting: Sitting, at: datetime) -> Sitting:
    """Hand the sitting in; twice is once. One whose time had run out ended at its deadline."""
    with transaction.atomic():
        held = _held(sitting)
        if held.finished_at is None:
            last = held.events.aggregate(last=Max("received_at"))["last"]
            _end(held, max(at, last or at))
        return held


def _held(sitting: Sitting) -> Sitting:
    """Read the sitting anew and hold its row: what is done to one sitting is done one after the other."""
    held = Sitting.objects.select_for_update(of=("self",), no_key=True).get(pk=sitting.pk)
    held.assignment = sitting.assignment
    return held


def _end(held: Sitting, at: datetime) -> None:
    held.finished_at = min(at, held.deadline)
    held.save(update_fields=["finished_at"])


def _begin(assignment: Assignment, pupil: User, device: str, at: datetime) -> Sitting:
    percent = extra_percent(assignment, pupil)
    number = paper_for(assignment, pupil)
    asked = assignment.questions.filter(paper=number).order_by("position")
    seed = SystemRandom().getrandbits(62)
    begun = Sitting.objects.create(
        assignment=assignment,
        pupil=pupil,
        started_at=at,
        allowance=with_extra(assignment.allowance, percent),
        extra_percent=percent,
        device=device,
        seed=seed,
        paper=draw_paper(
            list(asked.values_list("pk", flat=True)),
            Random(seed),  # noqa: S311  (a lot, kept with the sitting, drawn from no secret)
            shuffle_questions=assignment.shuffle_questions,
            shuffle_options=assignment.shuffle_options,
            number=number if assignment.papers > 1 else 0,
        ),
    )
    if assignment.time_changes.exists():  # asked after the row is there: whoever stops the clock for all finds it
        keep_reckoned([begun])
    return begun


def _refuse_unless_open(assignment: Assignment, at: datetime) -> None:
    if not assignment.is_open(at):
        says = "This set has closed." if at >= assignment.closes_at else "This set is not open yet."
        raise NotOpen(says, assignment.opens_at, assignment.closes_at)


def _repeat(stored: Event, question_id: int, kind: str, option: str) -> Event:
    if (stored.question_id, stored.kind, stored.option) != (question_id, kind, option):
        raise ChangedRepeat
    return stored


def _refuse_unless_writable(sitting: Sitting, before: SoFar, epoch: int, kind: str) -> None:
    if epoch != sitting.epoch:
        raise OtherDevice
    if sitting.was_handed_in:
        raise AlreadyFinished
    if before.is_locked and kind in (Kind.CHOOSE, Kind.LOCK):
        raise AlreadyTold
    if kind == Kind.LOCK and sitting.assignment.feedback != Feedback.NOW:
        raise NotCheckedSingly
    if kind == Kind.LOCK and not before.is_chosen:
        raise NothingToCheck
    if before.is_taken:
        raise OrderTaken((before.last_seq or 0) + 1)


def _is_past_limit(sitting: Sitting, question_id: int, received: datetime) -> bool:
    """Whether the question had its own time, and that is up; a query or two only where questions have limits."""
    if sitting.assignment.question_seconds is None:
        return False
    acts = acts_of([sitting])[sitting.pk]
    coming = Act(question_id, Kind.CHOOSE, "", sitting.epoch, 0, received, is_late=False)
    stops = stops_of([sitting]).get(sitting.pk, ())
    due = question_deadline(sitting, [*acts, coming], question_id, stops, received)
    return due is not None and received > due + GRACE


def _is_set_back(sitting: Sitting, at: datetime) -> bool:
    """Whether the clock was put back since the sitting was seen to have ended: no lock is waited for so long."""
    return sitting.finished_at is not None and at < sitting.finished_at - LONGEST_WAIT
