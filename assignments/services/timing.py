"""Change the time of sittings: more of it, the clock stopped, ended, reopened. Each deed is an entry that stays.

An entry is appended, never changed; what a sitting's entries come to is worked out by ``timekeeping.reckon`` and kept
with the sitting. All of it happens while the assignment's row is held, so entries have one order; pupils who start
meanwhile come after or before it as a whole. ``at`` is the database's time, asked before anything was waited for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import models, transaction
from django.db.models import Max

from accounts.models import User
from accounts.trail import Deed, record
from assignments.errors import TimeError
from assignments.models import Assignment, Feedback, Sitting, TimeChange
from assignments.queries import changes_by_sitting
from assignments.services.assigning import LONGEST, refuse_after_answers
from assignments.timekeeping import CLOCK_OF_ALL, Kind, Reckoned, reckon


@transaction.atomic
def add_time(*, assignment: Assignment, seconds: int, note: str = "", by: User | None, at: datetime) -> int:
    """Give the whole class more time, each with their own extra on top; return how many sittings it reached.

    Sittings that ran out of time run on. Those handed in stay so, and so do those whose pupil may have seen the
    answers by now. Who has not started yet gets the longer allowance.
    """
    held = _held(assignment)
    if held.is_untimed:
        raise TimeError("This set has no time limit. To let it go on longer, move its closing time.")
    if held.allowance + seconds > LONGEST:
        raise TimeError("That would allow more than four hours. The time stays as it was.")
    refuse_after_answers(held, at)
    told_at_once = held.feedback == Feedback.NOW
    longer = [s for s in _sittings(held) if not s.was_handed_in and not (told_at_once and s.is_settled(at))]
    Assignment.objects.filter(pk=held.pk).update(allowance=models.F("allowance") + seconds)
    _append(held, [None, *longer], Kind.EXTEND, seconds=seconds, for_all=True, note=note, by=by, at=at)
    return len(longer)


@transaction.atomic
def extend_one(*, sitting: Sitting, seconds: int, note: str, by: User, at: datetime) -> None:
    """Give one pupil, whose time still runs, just so much more."""
    held, one = _held_with(sitting)
    if not one.is_running(at):
        raise TimeError(f"{one.pupil.name} has ended this set. Reopen it to give more time.")
    _append(held, [one], Kind.EXTEND, seconds=seconds, note=note, by=by, at=at)
    _refuse_what_closing_cuts(held, one)


@transaction.atomic
def reopen(*, sitting: Sitting, seconds: int, note: str, by: User, at: datetime) -> None:
    """Let one pupil go on who has ended, for so long from now; unless the answers may have been seen."""
    held, one = _held_with(sitting)
    ended = one.ended_at(at)
    if ended is None or one.is_on_paper:
        raise TimeError(f"{one.pupil.name} has not ended this set, so there is nothing to reopen.")
    if held.feedback == Feedback.NOW and one.is_settled(at):
        raise TimeError(f"{one.pupil.name} can already see the answers, so this set cannot be reopened.")
    refuse_after_answers(held, at)
    Sitting.objects.filter(pk=one.pk).update(finished_at=None)
    one.finished_at = None
    _append(held, [one], Kind.REOPEN, seconds=seconds, note=note, by=by, at=at, had_ended_at=ended)
    _refuse_what_closing_cuts(held, one)


@transaction.atomic
def end_one(*, sitting: Sitting, note: str, by: User, at: datetime) -> None:
    """End one pupil's sitting now. What was chosen until now counts."""
    held, one = _held_with(sitting)
    if not one.is_running(at):
        raise TimeError(f"{one.pupil.name} has ended this set already.")
    _append(held, [one], Kind.END, note=note, by=by, at=at)


@transaction.atomic
def end_all(*, assignment: Assignment, note: str, by: User, at: datetime) -> int:
    """End the set for the whole class: nobody starts any more, and all who sit it stop. Return how many did."""
    held = _held(assignment)
    if at <= held.opens_at:
        raise TimeError("This set is not open yet, so there is nothing to end.")
    running = [sitting for sitting in _sittings(held) if sitting.is_running(at)]
    if held.closes_at > at:
        held.closes_at = at
        held.save(update_fields=["closes_at"])
    _append(held, [None, *running], Kind.END, for_all=True, note=note, by=by, at=at)
    return len(running)


@transaction.atomic
def pause_all(*, assignment: Assignment, note: str = "", by: User, at: datetime) -> None:
    """Stop the clock for the whole class, also for who starts meanwhile; the questions are hidden."""
    held = _held(assignment)
    if is_paused(held):
        raise TimeError("The clock stands already.")
    _append(held, [None], Kind.PAUSE, for_all=True, note=note, by=by, at=at)


@transaction.atomic
def resume_all(*, assignment: Assignment, note: str = "", by: User, at: datetime) -> None:
    held = _held(assignment)
    if not is_paused(held):
        raise TimeError("The clock is running already.")
    _append(held, [None], Kind.RESUME, for_all=True, note=note, by=by, at=at)


@transaction.atomic
def take_break(*, sitting: Sitting, at: datetime) -> None:
    """Stop the clock for a pupil whose access arrangement allows rest breaks, at the pupil's own wish."""
    held, one = _held_with(sitting)
    if not one.pupil.rest_breaks:
        raise TimeError("Rest breaks are not set for you. If you need one, tell your teacher.")
    if one.is_running(at) and not one.is_stopped(at):
        _append(held, [one], Kind.BREAK, by=one.pupil, at=at)


@transaction.atomic
def come_back(*, sitting: Sitting, at: datetime) -> None:
    """End the pupil's break, if there is one; twice is once."""
    held, one = _held_with(sitting)
    if one.is_on_break and one.is_stopped(at):
        _append(held, [one], Kind.BACK, by=one.pupil, at=at)


def is_paused(assignment: Assignment) -> bool:
    """Whether the teacher has stopped the clock for all."""
    last = assignment.time_changes.filter(kind__in=CLOCK_OF_ALL).order_by("pk").last()
    return last is not None and last.kind == Kind.PAUSE


def reckoned_for(sittings: Iterable[Sitting]) -> dict[int, Reckoned]:
    """Return what the entries of these sittings come to, by the sitting's primary key (one query)."""
    sittings = list(sittings)
    changes = changes_by_sitting(sittings)
    return {
        sitting.pk: reckon(sitting.started_at, sitting.allowance, sitting.extra_percent, changes[sitting.pk])
        for sitting in sittings
    }


def keep_reckoned(sittings: Iterable[Sitting]) -> None:
    """Work the time of these sittings out from their entries and keep it with them."""
    sittings = list(sittings)
    for pk, reckoned in reckoned_for(sittings).items():
        next(sitting for sitting in sittings if sitting.pk == pk).take(reckoned)
    Sitting.objects.bulk_update(sittings, ["given", "stopped_at", "stopped_until", "finished_at"])


def _held(assignment: Assignment) -> Assignment:
    return Assignment.objects.select_for_update().get(pk=assignment.pk)


def _sittings(held: Assignment) -> list[Sitting]:
    """Hold all sittings of the assignment on a screen, in one order: one on paper is over, and no clock runs for it."""
    rows = list(held.sittings.filter(entered_at=None).select_for_update(of=("self",)).order_by("pk"))
    for sitting in rows:
        sitting.assignment = held
    return rows


def _held_with(sitting: Sitting) -> tuple[Assignment, Sitting]:
    held = _held(sitting.assignment)
    one = Sitting.objects.select_for_update(of=("self",)).select_related("pupil").get(pk=sitting.pk)
    one.assignment = held
    return held, one


def _append(
    held: Assignment,
    concerned: Sequence[Sitting | None],
    kind: Kind,
    *,
    by: User | None,
    at: datetime,
    seconds: int = 0,
    for_all: bool = False,
    note: str = "",
    had_ended_at: datetime | None = None,
) -> None:
    """Append an entry for each one concerned (None: the class, whose entry bears the note), and keep the sums."""
    facts = {"assignment": held, "kind": kind, "seconds": seconds, "for_all": for_all, "by": by}
    latest = _latest(held, concerned)
    TimeChange.objects.bulk_create(
        TimeChange(
            **facts,
            sitting=one,
            at=max(at, latest.get(one.pk if one else None, at)),
            note=note if one is None or not for_all else "",
            had_ended_at=had_ended_at,
        )
        for one in concerned
    )
    moved = _sittings(held) if kind in CLOCK_OF_ALL else [one for one in concerned if one is not None]
    keep_reckoned(moved)
    if by is not None and not by.is_pupil:
        record(Deed.TIME_CHANGED, by=by, about={"assignment": held.pk, "class": held.school_class_id})


def _latest(held: Assignment, concerned: Sequence[Sitting | None]) -> dict[int | None, datetime]:
    """Return the last moment known of each sitting (None: of the class): no entry comes before it."""
    rows = Sitting.objects.filter(pk__in=[one.pk for one in concerned if one is not None])
    moments = [
        (None, held.time_changes.filter(sitting=None).aggregate(last=Max("at"))["last"]),
        *rows.annotate(last=Max("events__received_at")).values_list("pk", "last"),
        *rows.annotate(last=Max("time_changes__at")).values_list("pk", "last"),
    ]
    latest: dict[int | None, datetime] = {}
    for pk, at in moments:
        if at is not None:
            latest[pk] = max(at, latest.get(pk, at))
    return latest


def _refuse_what_closing_cuts(held: Assignment, one: Sitting) -> None:
    if held.closing_cuts and one.deadline == held.closes_at:
        raise TimeError("The closing time of this set also ends sittings, and it comes first. Move it, then give time.")
