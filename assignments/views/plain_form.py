"""The question page without script: one form carries the choice, and the name of the button says where to go next."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from assignments.errors import OtherDevice, Refused, TimeError
from assignments.forms.answering import AnswerForm
from assignments.models import Event, Sitting
from assignments.papers import letter_named, places
from assignments.services.sittings import note_opened, record_event
from assignments.services.timing import take_break

STRIKES = (Event.Kind.STRIKE, Event.Kind.UNSTRIKE)  # with the page's name of the picture: "strike:6f…"
DEEDS = (Event.Kind.FLAG, Event.Kind.UNFLAG, Event.Kind.LOCK, *STRIKES)
REST = "rest"
STEPS = {"next": 1, "back": -1}


def answer_plain_form(request: HttpRequest, sitting: Sitting, form: AnswerForm, at: datetime) -> HttpResponse:
    """Keep the choice if it is a new one, then do what the pressed button says."""
    if not form.is_valid():
        messages.error(request, form.says)
        return redirect("assignments:start", sitting.assignment_id)
    here, then = form.place.number, request.POST["then"]
    try:
        _keep(request, sitting, form, then, at)
    except OtherDevice as refusal:
        messages.error(request, f"{refusal} What you chose last was not saved. Go on here, and choose it again.")
        return redirect("assignments:start", sitting.assignment_id)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return to_place(sitting, here)
    if then == REST:
        return _rest(request, sitting, at)
    if then == Event.Kind.LOCK:
        return redirect("assignments:review", sitting.pk, here)
    return _come_to(sitting, max(1, _wanted(then, here)), at)


def to_place(sitting: Sitting, place: int) -> HttpResponse:
    """Go to a place of the paper; past the last comes the look over all of them."""
    if place > len(sitting.paper):
        return redirect("assignments:finish", sitting.pk)
    return redirect("assignments:sitting", sitting.pk, max(1, place))


def _come_to(sitting: Sitting, number: int, at: datetime) -> HttpResponse:
    if number <= len(sitting.paper):
        note_opened(sitting=sitting, question_id=places(sitting.paper)[number - 1].question, at=at)
    return to_place(sitting, number)


def _rest(request: HttpRequest, sitting: Sitting, at: datetime) -> HttpResponse:
    try:
        take_break(sitting=sitting, at=at)
    except TimeError as refusal:
        messages.error(request, str(refusal))
    return redirect("assignments:start", sitting.assignment_id)


def _keep(request: HttpRequest, sitting: Sitting, form: AnswerForm, then: str, at: datetime) -> None:
    event = form.event
    if event["option"] and form.cleaned_data["option"] != request.POST.get("had"):
        kept = record_event(sitting=sitting, at=at, **(event | {"kind": Event.Kind.CHOOSE}))
        if kept.is_late:
            messages.warning(request, "Time was up before this choice arrived. It is kept for your teacher to see.")
    deed, _, name = then.partition(":")
    if deed in DEEDS:
        option = letter_named(sitting.pk, form.place, name) or ""
        own = {"kind": deed, "option": option, "client_id": uuid5(event["client_id"], then), "seq": None}
        if bool(option) == (deed in STRIKES):
            record_event(sitting=sitting, at=at, **(event | own))


def _wanted(then: str, here: int) -> int:
    if then.isascii() and then.isdigit():
        return int(then[:4])
    return here + STEPS.get(then, 0)
