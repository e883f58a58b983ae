"""What this room holds about a pupil: sittings, every choice made in them, and extra time for single sets."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import QuerySet

from accounts.holdings import Holding, Kind, Part, Row
from accounts.models import School, User
from assignments.models import Addressee, Assignment, Event, ExtraTime, PrintOrder, Sitting, TimeChange
from assignments.papers import number_of
from assignments.time_record import said_of


def held_about(pupil: User) -> Iterator[Part]:
    sittings = Sitting.objects.filter(pupil=pupil).select_related("assignment__school_class", "entered_by")
    yield Part("Sittings", tuple(map(_sitting, sittings.order_by("started_at"))))
    events = Event.objects.filter(sitting__pupil=pupil).select_related("sitting__assignment", "question__version")
    yield Part("Answers, and marks to look again", tuple(map(_event, events.order_by("received_at", "epoch", "seq"))))
    changes = TimeChange.objects.filter(sitting__pupil=pupil).select_related("sitting__pupil", "by").order_by("pk")
    yield Part("What was done to the time of sittings", tuple(map(_change, changes)))
    times = ExtraTime.objects.filter(pupil=pupil).select_related("assignment")
    yield Part("Extra time for single sets", tuple({"Set": str(t.assignment), "Per cent": t.percent} for t in times))
    sent = Addressee.objects.filter(pupil=pupil).select_related("assignment__school_class")
    yield Part(
        "Sets sent to some of the class, this pupil among them, or in two papers",
        tuple({"Set": str(one.assignment), "Paper": one.paper} for one in sent),
    )
    orders = PrintOrder.objects.filter(assignment__school_class__enrolments__pupil=pupil).select_related("assignment")
    sheets = tuple({"Set": str(order.assignment), "Asked for": order.asked_at} for order in orders)
    yield Part("Files to print for the class, of the last day, which may hold the name", sheets)


def erase(pupil: User) -> None:
    """Files to print go for all classes of the school: the pupil may have left one today, and they are made anew."""
    PrintOrder.objects.filter(assignment__school_class__school=pupil.school_id).delete()
    ExtraTime.objects.filter(pupil=pupil).delete()
    _take_out_of_notes(pupil)
    Sitting.objects.filter(pupil=pupil).delete()  # and with them every event, and what was done to their time


def _sitting(sitting: Sitting) -> Row:
    return {
        "Number": sitting.pk,
        "Set": sitting.assignment.title,
        "Class": sitting.assignment.school_class.name,
        "Began": sitting.started_at,
        "Ended": sitting.finished_at,
        "Seconds allowed": sitting.allowance,
        "Seconds on top": sitting.given.total_seconds(),
        "Clock stands since": sitting.stopped_at,
        "Clock stands until": sitting.stopped_until,
        "Extra time in it, per cent": sitting.extra_percent,
        "Devices": sitting.epoch,
        "Device’s code": sitting.device,
        "Lot by which the order was drawn": sitting.seed,
        "Order of questions and options": ", ".join(f"{place['question']} {place['order']}" for place in sitting.paper),
        "Paper, of several": number_of(sitting.paper) or None,
        "Typed in from paper": sitting.entered_at,
        "Typed in by": sitting.entered_by.name if sitting.entered_by else None,
    }


def _change(change: TimeChange) -> Row:
    (said,) = said_of([change])
    return {"Sitting": change.sitting_id, "At": said.at, "What": said.says, "By": said.by, "Note": said.note}


def _take_out_of_notes(pupil: User) -> None:
    """A note on the time of a whole class should name nobody; one that names this pupil is emptied all the same."""
    notes = TimeChange.objects.filter(assignment__school_class__school=pupil.school_id).exclude(note="")
    for pk, note in notes.values_list("pk", "note"):
        if pupil.name.casefold() in note.casefold():
            TimeChange.objects.filter(pk=pk).update(note="")


def _event(event: Event) -> Row:
    return {
        "Sitting": event.sitting_id,
        "Question in the set": event.question.position,
        "What": event.get_kind_display(),
        "Option": event.option,
        "Arrived": event.received_at,
        "Too late": "yes" if event.is_late else "no",
        "Order": f"{event.epoch}.{event.seq}",
        "Number": str(event.client_id),
    }


def _old_sittings(school: School, before: datetime) -> QuerySet[Sitting]:
    return Sitting.objects.filter(assignment__school_class__school=school, started_at__lt=before)


def _remove_old(school: School, before: datetime) -> int:
    """Sittings with their answers, and what was agreed or noted of the time of sets that closed as long ago."""
    ended = Assignment.objects.filter(school_class__school=school, closes_at__lt=before)
    ExtraTime.objects.filter(assignment__in=ended).delete()
    Addressee.objects.filter(assignment__in=ended.filter(for_some=False)).delete()  # which paper was planned for whom
    TimeChange.objects.filter(assignment__in=ended, sitting=None).delete()
    _, by_model = _old_sittings(school, before).delete()
    return by_model.get(Sitting._meta.label, 0)


def _titles(school: School, numbers: set[int]) -> dict[int, str]:
    found = Assignment.objects.filter(school_class__school=school, pk__in=numbers).select_related("school_class")
    return {assignment.pk: str(assignment) for assignment in found}


HOLDING = Holding(
    held_about=held_about,
    erase=erase,
    kinds=(
        Kind(
            key="sittings",
            title="Sittings with their answers",
            counted_from="the start of the sitting",
            due=lambda school, before: _old_sittings(school, before).count(),
            remove=_remove_old,
        ),
    ),
    names={"assignment": _titles},
)
