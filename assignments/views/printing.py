"""Printing a set, or what was assigned: choose, wait for the files, take them."""

from __future__ import annotations

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_safe

from accounts.access import adults_only
from assignments.errors import SetError
from assignments.forms.printing import PrintForm
from assignments.models import Assignment, PrintOrder, QuestionSet
from assignments.outlook import SECONDS_A_QUESTION
from assignments.queries import pupils_of
from assignments.querysets import SETTERS
from assignments.services import printing as services
from assignments.services.clock import database_now
from assignments.views import person, sent

SLOW = timedelta(seconds=15)  # after which a page says that no worker has taken the order up


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def print_set(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = get_object_or_404(QuestionSet.objects.visible_to(person(request)).select_related("school"), pk=pk)
    return _choose(request, question_set, None)


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def print_assignment(request: HttpRequest, pk: int) -> HttpResponse:
    """Print what was assigned: the versions fixed then, and answer sheets with the names of the class."""
    visible = Assignment.objects.visible_to(person(request)).select_related("question_set__school", "school_class")
    assignment = get_object_or_404(visible, pk=pk)
    return _choose(request, assignment.question_set, assignment)


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how far the files are. Posting makes here what no worker has made."""
    found = PrintOrder.objects.visible_to(person(request)).select_related("question_set__school", "assignment")
    order = get_object_or_404(found, pk=pk)
    if request.method == "POST":
        services.make_files(order=order)
        return redirect("assignments:print_order", pk)
    files = list(order.files.defer("pdf"))
    waits = order.ended_at is None
    context = {"order": order, "files": files, "waits": waits}
    context["is_slow"] = waits and database_now() - order.asked_at > SLOW
    part = getattr(request, "htmx", False)
    return render(request, "assignments/parts/print_progress.html" if part else "assignments/print_order.html", context)


@require_safe
@adults_only
def file(request: HttpRequest, pk: int, place: int) -> HttpResponse:
    """Hand out one PDF."""
    orders = PrintOrder.objects.visible_to(person(request)).select_related("question_set")
    order = get_object_or_404(orders, pk=pk)
    found = get_object_or_404(order.files, place=place)
    response = HttpResponse(bytes(found.pdf), content_type="application/pdf")
    name = f"{order.question_set.title}, {found.title}.pdf"
    response["Content-Disposition"] = content_disposition_header("download" in request.GET, name) or ""
    return response


def _choose(request: HttpRequest, question_set: QuestionSet, assignment: Assignment | None) -> HttpResponse:
    count = assignment.questions.filter(paper=1).count() if assignment else question_set.entries.count()
    pupils = pupils_of(assignment).count() if assignment else 0
    seconds = assignment.allowance if assignment and not assignment.is_untimed else SECONDS_A_QUESTION * count
    papers = assignment.papers if assignment else 1
    form = PrintForm(sent(request), pupils=pupils, papers=papers, initial={"seconds": seconds, "named": bool(pupils)})
    if form.is_valid():
        try:
            made = services.order_print(
                question_set=question_set,
                assignment=assignment,
                choices=form.choices,
                by=person(request),
                at=database_now(),
            )
        except SetError as error:
            form.add_error(None, str(error))
        else:
            return redirect("assignments:print_order", made.pk)
    context = {"set": question_set, "assignment": assignment, "form": form, "count": count}
    context["may_change"] = person(request).role in SETTERS and question_set.retired_at is None
    return render(request, "assignments/print.html", context, status=400 if form.is_bound else 200)
