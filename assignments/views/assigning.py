"""Sending a set to a class, and changing what was sent."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from accounts.access import roles
from accounts.models import SchoolClass, User
from accounts.names import in_register_order
from accounts.trail import Deed, record
from assignments.errors import AssignmentError, QuestionsNotReady, SetError
from assignments.forms.assigning import AssignForm, ClosingForm
from assignments.models import Assignment, Feedback, QuestionSet
from assignments.outlook import SECONDS_A_QUESTION
from assignments.queries import classes_to_send_to
from assignments.querysets import SETTERS
from assignments.services import assigning as services
from assignments.services.clock import database_now
from assignments.services.parallel import parallel_sets
from assignments.services.sets import why_not_ready
from assignments.views import person, sent

OPEN_FOR = timedelta(days=7)


@require_http_methods(["GET", "HEAD", "POST"])
@roles(*SETTERS)
def assign(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose the class, then the terms. Nothing is sent unless everything can be."""
    question_set = get_object_or_404(QuestionSet.objects.managed_by(person(request)), pk=pk)
    classes = classes_to_send_to(person(request))
    school_class = _chosen_class(request, classes)
    unready = _unready(question_set)
    context = {"set": question_set, "classes": classes, "school_class": school_class, "unready": unready}
    if school_class is None or unready:
        return render(request, "assignments/assign.html", context, status=409 if request.method == "POST" else 200)
    form = _assign_form(request, question_set, school_class)
    if form.is_valid():
        try:
            made = services.assign_set(
                question_set=question_set, school_class=school_class, terms=form.terms, by=person(request)
            )
        except (SetError, QuestionsNotReady) as error:
            form.add_error(None, str(error))
        else:
            return _sent(request, made, form)
    status = 400 if form.is_bound else 200
    return render(request, "assignments/assign.html", context | {"form": form}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@roles(*SETTERS)
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Move the closing time, or take the set back, each by its own button."""
    at = database_now()
    found = Assignment.objects.managed_by(person(request)).select_related("school_class")
    assignment = get_object_or_404(found, pk=pk)
    deed = request.POST.get("deed", "") if request.method == "POST" else ""
    closing = ClosingForm(request.POST if deed == "closing" else None, assignment=assignment, at=at)
    if deed == "take_back" or (deed == "closing" and closing.is_valid()):
        try:
            return _changed(request, assignment, deed, closing, at)
        except AssignmentError as error:
            messages.error(request, str(error))
    context = {"assignment": assignment, "sat": assignment.sittings.count(), "closing": closing}
    return render(request, "assignments/change.html", context, status=409 if request.method == "POST" else 200)


def _changed(request: HttpRequest, assignment: Assignment, deed: str, form: ClosingForm, at: datetime) -> HttpResponse:
    about = {"assignment": assignment.pk, "class": assignment.school_class_id}
    if deed == "take_back":
        services.take_back(assignment=assignment)
        record(Deed.ASSIGNMENT_CHANGED, by=person(request), about=about)
        messages.success(request, f"{assignment.title} is taken back from {assignment.school_class}.")
        return redirect("assignments:set_detail", assignment.question_set_id)
    services.change_closing(assignment=assignment, closes_at=form.cleaned_data["closes_at"], at=at)
    messages.success(request, "The closing time is changed.")
    record(Deed.ASSIGNMENT_CHANGED, by=person(request), about=about)
    return redirect("assignments:result", assignment.pk)


def _chosen_class(request: HttpRequest, classes: QuerySet[SchoolClass]) -> SchoolClass | None:
    """Return the class named in the address or the form, or the only one there is."""
    named = request.POST.get("class") or request.GET.get("class", "")
    if named:
        return get_object_or_404(classes, pk=named if named.isascii() and named.isdigit() and len(named) < 19 else 0)
    only = list(classes[:2])
    return only[0] if len(only) == 1 else None


def _assign_form(request: HttpRequest, question_set: QuestionSet, school_class: SchoolClass) -> AssignForm:
    at = database_now()
    opens_at = at.replace(second=0, microsecond=0)
    pupils = in_register_order(User.objects.pupils().filter(enrolments__school_class=school_class))
    initial = {
        "opens_at": opens_at,
        "closes_at": opens_at + OPEN_FOR,
        "allowance": SECONDS_A_QUESTION * question_set.entries.count(),
        "feedback": Feedback.AFTER_CLOSE,
        "shuffle_options": True,
        "only": request.GET.getlist("only"),
    }
    beside = parallel_sets(question_set)
    return AssignForm(sent(request), pupils=pupils, at=at, parallel=beside, initial=initial)


def _unready(question_set: QuestionSet) -> list[dict]:
    entries = question_set.entries.select_related("question__current")
    reasons = [(entry.question, why_not_ready(entry.question)) for entry in entries]
    return [{"question": question, "why": why} for question, why in reasons if why]


def _sent(request: HttpRequest, made: Assignment, form: AssignForm) -> HttpResponse:
    some = form.terms.only
    whom = f"{len(some)} pupil{'' if len(some) == 1 else 's'} of {made.school_class}" if some else made.school_class
    messages.success(request, f"{made.title} is assigned to {whom}.")
    for notice in form.notices:
        messages.warning(request, notice)
    return redirect("assignments:result", made.pk)
