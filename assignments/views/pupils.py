"""A pupil's own pages before and after a sitting: the list of sets, and the page that starts one."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from accounts.access import pupils_only
from assignments.errors import NotOpen
from assignments.marking import standings
from assignments.models import Sitting
from assignments.next_step import next_step
from assignments.papers import places
from assignments.pupil_pages import PupilSet, Spot, State, pupil_set, tape_of, told_tape
from assignments.queries import acts_of, as_asked, assignments_for_pupil, last_seq, questions_of
from assignments.results import mark_sittings
from assignments.services.clock import database_now
from assignments.services.sittings import note_opened, start_sitting
from assignments.services.timing import come_back
from assignments.views import person
from assignments.views.devices import device_of

NOW, LATER, BEFORE = (State.OPEN, State.RUNNING), (State.COMING,), (State.DONE, State.MISSED)


@require_safe
@pupils_only
def my_sets(request: HttpRequest) -> HttpResponse:
    at = database_now()
    sets = [
        pupil_set(assignment, person(request), at)
        for assignment in assignments_for_pupil(person(request)).order_by("closes_at", "pk")
    ]
    context = {
        "now": [one for one in sets if one.state in NOW],
        "coming": sorted((one for one in sets if one.state in LATER), key=lambda one: one.assignment.opens_at),
        "done": [one for one in reversed(sets) if one.state in BEFORE],
    }
    return render(request, "assignments/my_sets.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@pupils_only
def start(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the set as it stands for this pupil: coming, to start, to go on with, or done.

    Posting starts or goes on, also from a rest break.
    """
    at = database_now()
    assignment = get_object_or_404(assignments_for_pupil(person(request)), pk=pk)
    mine = pupil_set(assignment, person(request), at)
    if request.method == "POST" and mine.state in NOW:
        try:
            sitting = start_sitting(assignment=assignment, pupil=person(request), device=device_of(request), at=at)
        except NotOpen as refusal:
            messages.error(request, str(refusal))
            return redirect("assignments:my_sets")
        if sitting.is_on_break:
            come_back(sitting=sitting, at=at)
        return _go_on(sitting, at)
    status = 409 if request.method == "POST" else 200
    return render(request, "assignments/start.html", _start_context(request, mine), status=status)


def _start_context(request: HttpRequest, mine: PupilSet) -> dict[str, Any]:
    context = {"mine": mine, "assignment": mine.assignment, "refused": request.method == "POST"}
    sitting = mine.sitting
    if sitting is None:
        return context | {"is_first": not person(request).sittings.exists()}
    context["last_seq"] = last_seq(sitting)
    context["is_elsewhere"] = sitting.device != device_of(request)
    if mine.is_told:
        questions = questions_of(mine.assignment)
        (row,) = mark_sittings([sitting], map(as_asked, questions))
        step = next_step(row.marks, {question.pk: question.version.folds for question in questions})
        number = next((place.number for place in places(sitting.paper) if place.question == step.question), 0)
        told = {"told": told_tape(sitting, row.marks), "step": step, "step_number": number}
        return context | {"marks": row.marks} | told
    tape = _tape(sitting)
    answered = sum(bool(spot.standing.choice) for spot in tape)
    return context | {"tape": tape, "answered": answered}


def _go_on(sitting: Sitting, at: datetime) -> HttpResponse:
    """Go to the first place without an answer; to the first of all if every one has one."""
    place = next((spot.number for spot in _tape(sitting) if not spot.standing.choice), 1)
    if sitting.is_running(at):
        note_opened(sitting=sitting, question_id=places(sitting.paper)[place - 1].question, at=at)
    return redirect("assignments:sitting", sitting.pk, place)


def _tape(sitting: Sitting) -> list[Spot]:
    return tape_of(places(sitting.paper), standings(acts_of([sitting])[sitting.pk], sitting.started_at))
