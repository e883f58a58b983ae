"""Typing in the answers of a class that sat a set on paper."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.access import roles
from accounts.models import User
from accounts.names import in_register_order
from assignments.errors import AssignmentError
from assignments.forms.paper_marks import PaperMarksForm
from assignments.handing_out import papers_given
from assignments.models import Assignment
from assignments.paper.sheet_codes import SheetName, sheet_coded
from assignments.queries import pupils_of
from assignments.querysets import SETTERS
from assignments.services.clock import database_now
from assignments.services.paper_marks import enter_answers, papers_printed, typed_answers
from assignments.views import person, sent


@require_http_methods(["GET", "HEAD", "POST"])
@roles(*SETTERS)
def paper_marks(request: HttpRequest, pk: int) -> HttpResponse:
    """A row of letters for each pupil; the code of an answer sheet finds its row."""
    at = database_now()
    managed = Assignment.objects.managed_by(person(request)).select_related("school_class", "question_set")
    assignment = get_object_or_404(managed, pk=pk)
    code = (request.POST.get("code") or request.GET.get("code", ""))[:60]
    form = _form(request, assignment, at)
    found = _sheet(code, assignment, form)
    if found is not None:
        form.point_to(found.pupil_id, found.paper)
    if "find" not in request.POST and form.is_valid():
        try:
            kept = enter_answers(
                assignment=assignment, answers=form.answers, sat_at=form.sat_at, by=person(request), at=at
            )
        except AssignmentError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{kept} paper{'s' if kept != 1 else ''} saved.")
            return redirect("assignments:result", pk)
    context = {"assignment": assignment, "form": form, "code": code, "found": found}
    status = 400 if form.is_bound and "find" not in request.POST else 200
    return render(request, "assignments/paper_marks.html", context, status=status)


def _form(request: HttpRequest, assignment: Assignment, at: datetime) -> PaperMarksForm:
    pupils = _pupils(assignment)
    sittings = {sitting.pupil_id: sitting for sitting in assignment.sittings.all()}
    return PaperMarksForm(
        sent(request),
        pupils=pupils,
        sittings=sittings,
        typed=typed_answers(assignment),
        papers=papers_printed(assignment),
        given=papers_given(assignment),
        count=assignment.questions.filter(paper=1).count(),
        at=at,
        initial={"sat_on": timezone.localdate(at)},
    )


def _pupils(assignment: Assignment) -> list[User]:
    """Those it is for, and whoever has a sitting and has left the class since."""
    there = pupils_of(assignment) | User.objects.pupils().filter(sittings__assignment=assignment)
    return in_register_order(there.distinct())


def _sheet(code: str, assignment: Assignment, form: PaperMarksForm) -> SheetName | None:
    """Which sheet a code was printed on, if it is one of this class for this assignment."""
    sheets = (
        SheetName(assignment.question_set_id, assignment.pk, paper, pupil.pk)
        for pupil in form.pupils
        for paper in papers_printed(assignment)
    )
    return sheet_coded(code, sheets) if code else None
