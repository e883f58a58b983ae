"""Results to take away: two CSV files with the filters of the list, streamed, and the page that explains them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from accounts.access import adults_only
from accounts.trail import Deed, record
from assignments.exports import ANSWER_COLUMNS, SITTING_COLUMNS, answer_rows, csv_lines, sitting_rows
from assignments.forms.results import ResultsForm
from assignments.results import Results, results_of
from assignments.services.clock import database_now
from assignments.views import person


@require_safe
@adults_only
def answers(request: HttpRequest) -> HttpResponseBase:
    """One row for every question of every sitting in view."""
    zone = timezone.get_current_timezone()

    def rows(results: Results, with_names: bool) -> Iterable[list[Any]]:
        return answer_rows(results, zone, with_names=with_names)

    return _csv(request, "answers", ANSWER_COLUMNS, rows)


@require_safe
@adults_only
def sittings(request: HttpRequest) -> HttpResponseBase:
    """One row for every sitting in view."""
    zone, at = timezone.get_current_timezone(), database_now()

    def rows(results: Results, with_names: bool) -> Iterable[list[Any]]:
        return sitting_rows(results, zone, at, with_names=with_names)

    return _csv(request, "sittings", SITTING_COLUMNS, rows)


@require_safe
@adults_only
def columns(request: HttpRequest) -> HttpResponse:
    context = {"answers": ANSWER_COLUMNS.items(), "sittings": SITTING_COLUMNS.items()}
    return render(request, "assignments/columns.html", context)


def _csv(
    request: HttpRequest, what: str, columns: Iterable[str], rows: Callable[[Results, bool], Iterable[list[Any]]]
) -> HttpResponseBase:
    form = ResultsForm(request.GET, user=person(request))
    if not form.is_valid():
        context = {"form": form, "page": None, "query": request.GET.urlencode()}
        return render(request, "assignments/results.html", context, status=400)
    with_names = not form.cleaned_data["without_names"]
    # The number of assignments in memory is the school's, of answers one class's.
    found = list(form.assignments.select_related("school_class").order_by("opens_at", "pk"))
    for class_pk in sorted({assignment.school_class_id for assignment in found}):
        record(Deed.EXPORTED, by=person(request), about={"class": class_pk})

    def every_row() -> Iterator[list[Any]]:
        for assignment in found:
            yield from rows(results_of(assignment), with_names)

    response = StreamingHttpResponse(
        csv_lines(columns, every_row()), content_type="text/csv; charset=utf-8; header=present"
    )
    response["Content-Disposition"] = content_disposition_header(True, _file_name(what, form))
    return response


def _file_name(what: str, form: ResultsForm) -> str:
    """Name the file after what is in it: ``answers 6 Larch 2026-05-14.csv``."""
    chosen = [form.cleaned_data.get("school_class"), form.cleaned_data.get("question_set")]
    day = timezone.localdate()
    return " ".join([what, *(str(one) for one in chosen if one), f"{day:%Y-%m-%d}"]) + ".csv"
