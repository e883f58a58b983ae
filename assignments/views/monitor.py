"""Watching a class sit a set, and changing its time. The part that changes is asked for again every few seconds."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from accounts.access import adults_only, roles
from accounts.models import User
from accounts.names import in_register_order
from assignments.errors import AssignmentError
from assignments.forms.timing import ClassTimeForm, PupilTimeForm, TimeForm
from assignments.models import Assignment
from assignments.monitor import monitor_of
from assignments.querysets import SETTERS
from assignments.school_time import say_duration
from assignments.services import timing
from assignments.services.clock import database_now
from assignments.views import person


@require_safe
@adults_only
def monitor(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the class as it sits the set; to a page that has seen it so already, say that nothing is new (204)."""
    at = database_now()
    assignment = get_object_or_404(Assignment.objects.visible_to(person(request)).select_related("school_class"), pk=pk)
    seen = request.GET.get("seen")
    if seen is None:
        return _page(request, assignment, at)
    watched = monitor_of(assignment, at)
    if seen == watched.digest:
        return HttpResponse(status=204)
    return render(request, "assignments/parts/monitor.html", {"assignment": assignment, "monitor": watched, "at": at})


@require_POST
@roles(*SETTERS)
def change_time(request: HttpRequest, pk: int) -> HttpResponse:
    """Do what the pressed button says to the time of the class, or of one pupil."""
    at = database_now()
    found = Assignment.objects.managed_by(person(request)).select_related("school_class")
    assignment = get_object_or_404(found, pk=pk)
    deed = request.POST.get("deed", "")
    forms = _forms(assignment, request.POST, deed)
    form = forms["one"] if deed in FOR_ONE else forms["all"]
    if deed not in FOR_ALL and deed not in FOR_ONE:
        messages.error(request, "Nothing was changed. Press one of the buttons.")
    elif form.is_valid():
        try:
            messages.success(request, _do(request, assignment, deed, form, at))
        except AssignmentError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("assignments:monitor", pk)
    return _page(request, assignment, at, forms, status=400)


Forms = dict[str, TimeForm]


def _page(
    request: HttpRequest, assignment: Assignment, at: datetime, forms: Forms | None = None, status: int = 200
) -> HttpResponse:
    context: dict[str, Any] = {"assignment": assignment, "monitor": monitor_of(assignment, at), "at": at}
    if person(request).role in SETTERS:
        context |= {"forms": forms or _forms(assignment, None, "")}
    return render(request, "assignments/monitor.html", context, status=status)


def _forms(assignment: Assignment, data: Any, deed: str) -> Forms:
    """Return both forms, that of the deed bound to what was sent."""
    begun = assignment.sittings.filter(entered_at=None)
    pupils = [(pupil.pk, pupil.name) for pupil in in_register_order(User.objects.filter(sittings__in=begun))]
    return {
        "all": ClassTimeForm(data if deed in FOR_ALL else None, deed=deed),
        "one": PupilTimeForm(data if deed in FOR_ONE else None, deed=deed, pupils=pupils),
    }


# --- the deeds: each does it and returns what to say of it ---------------------------------------------------------
Facts = dict[str, Any]  # by, at, note


def _do(request: HttpRequest, assignment: Assignment, deed: str, form: TimeForm, at: datetime) -> str:
    facts = {"by": person(request), "at": at, "note": form.cleaned_data["note"]}
    if deed in FOR_ALL:
        return FOR_ALL[deed](assignment, form, facts)
    sitting = assignment.sittings.select_related("assignment", "pupil").get(pupil=form.cleaned_data["pupil"])
    seconds = form.cleaned_data["seconds"]
    if deed == "end_one":
        timing.end_one(sitting=sitting, **facts)
        return f"Ended for {sitting.pupil.name}."
    if deed == "reopen":
        timing.reopen(sitting=sitting, seconds=seconds, **facts)
        return f"Reopened for {sitting.pupil.name}: {say_duration(seconds)} from now."
    timing.extend_one(sitting=sitting, seconds=seconds, **facts)
    return f"{say_duration(seconds)} more for {sitting.pupil.name}."


def _extend_all(assignment: Assignment, form: TimeForm, facts: Facts) -> str:
    seconds = form.cleaned_data["seconds"]
    reached = timing.add_time(assignment=assignment, seconds=seconds, **facts)
    return f"{say_duration(seconds)} more for everybody; {reached} running now or again."


def _pause(assignment: Assignment, form: TimeForm, facts: Facts) -> str:
    timing.pause_all(assignment=assignment, **facts)
    return "The clock stands for everybody. The questions are hidden until you start it again."


def _resume(assignment: Assignment, form: TimeForm, facts: Facts) -> str:
    timing.resume_all(assignment=assignment, **facts)
    return "The clock runs again."


def _end_all(assignment: Assignment, form: TimeForm, facts: Facts) -> str:
    ended = timing.end_all(assignment=assignment, **facts)
    return f"The set is ended for everybody; {ended} running until now."


FOR_ALL: dict[str, Callable[[Assignment, TimeForm, Facts], str]] = {
    "extend_all": _extend_all,
    "pause": _pause,
    "resume": _resume,
    "end_all": _end_all,
}
FOR_ONE = ("extend_one", "reopen", "end_one")
