"""How an assignment is marked: rulings on faulty questions with their record, late answers, correction for guessing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from accounts.access import roles
from assignments.errors import RulingError
from assignments.forms.rulings import RulingForm
from assignments.handing_out import name_of
from assignments.models import AssignedQuestion, Assignment, Event, Ruling
from assignments.papers import LETTERS
from assignments.queries import questions_of
from assignments.querysets import SETTERS
from assignments.services.clock import database_now
from assignments.services.rulings import correct_for_guessing, count_late, rule_on
from assignments.views import person
from bank.display import pictures_for
from bank.models import Picture

SWITCHES = {
    "correct": (correct_for_guessing, True),
    "plain": (correct_for_guessing, False),
    "late": (count_late, True),
    "in-time": (count_late, False),
}


@require_http_methods(["GET", "HEAD", "POST"])
@roles(*SETTERS)
def marking(request: HttpRequest, pk: int) -> HttpResponse:
    """Pick a question, rule on it, or switch the correction for guessing or what is late, each by its own button."""
    found = Assignment.objects.managed_by(person(request)).select_related("school_class")
    assignment = get_object_or_404(found, pk=pk)
    questions = questions_of(assignment)
    asked = _picked(request, questions)
    if request.method == "POST" and request.POST.get("deed") in SWITCHES:
        return _switch(request, assignment)
    form = _form(request, asked)
    if form is not None and asked is not None and form.is_valid():
        try:
            ruling = rule_on(
                question=asked,
                accepts=form.accepts,
                reason=form.cleaned_data["reason"],
                by=person(request),
                at=database_now(),
            )
        except RulingError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{name_of(asked, assignment)}: {ruling.says}. Marks and figures follow.")
            return redirect("assignments:marking", pk)
    context = _context(assignment, questions, asked) | {"form": form}
    return render(request, "assignments/marking.html", context, status=400 if request.method == "POST" else 200)


def _switch(request: HttpRequest, assignment: Assignment) -> HttpResponse:
    switch, on = SWITCHES[request.POST["deed"]]
    try:
        switch(assignment=assignment, on=on, by=person(request))
    except RulingError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "The marks are shown as you chose.")
    return redirect("assignments:marking", assignment.pk)


def _picked(request: HttpRequest, questions: list[AssignedQuestion]) -> AssignedQuestion | None:
    """Return the question whose number in the set, and paper if it is not the first, stands in the address."""
    wanted = request.GET.get("question", ""), request.GET.get("paper", "1")
    return next((one for one in questions if (str(one.position), str(one.paper)) == wanted), None)


def _form(request: HttpRequest, asked: AssignedQuestion | None) -> RulingForm | None:
    if asked is None:
        return None
    return RulingForm(request.POST if request.method == "POST" else None, question=asked)


def _context(
    assignment: Assignment, questions: list[AssignedQuestion], asked: AssignedQuestion | None
) -> dict[str, Any]:
    kinds = [Picture.Kind.THUMB, Picture.Kind.OPTION]
    pictures = pictures_for([question.version for question in questions], kinds)
    rulings = Ruling.objects.filter(question__assignment=assignment).select_related("by", "question")
    left = {question.paper: 0 for question in questions}
    for question in questions:
        left[question.paper] += bool(question.accepts)
    return {
        "assignment": assignment,
        "questions": [
            {"asked": one, "name": name_of(one, assignment), "thumb": pictures[one.version_id].thumbs[-1]}
            for one in questions
        ],
        "asked": asked,
        "name": name_of(asked, assignment) if asked else "",
        "unlike": list(left.items()) if len(set(left.values())) > 1 else [],
        "options": list(zip(LETTERS, pictures[asked.version_id].options, strict=True)) if asked else [],
        "rulings": [
            {"ruling": one, "name": name_of(one.question, assignment)} for one in rulings.order_by("-at", "-pk")
        ],
        "sat": assignment.sittings.count(),
        "late": Event.objects.filter(sitting__assignment=assignment, kind=Event.Kind.CHOOSE, is_late=True).count(),
    }
