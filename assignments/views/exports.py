"""Results to take away: four CSV files with the filters of the list, streamed, and the page that explains them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from accounts.access import adults_only
from accounts.trail import Deed, record
from assignments.answer_tables import tables_of
from assignments.exports import (
    ANSWER_COLUMNS,
    ITEM_COLUMNS,
    MISTAKE_COLUMNS,
    SITTING_COLUMNS,
    answer_lines,
    csv_lines,
    in_blocks,
    item_rows,
    mistake_rows,
    row_lines,
    sitting_rows,
)
from assignments.forms.results import ResultsForm
from assignments.mark_book import MarkBook, mark_book
from assignments.models import Assignment
from assignments.services.clock import database_now
from assignments.version_figures import figures_by_version
from assignments.views import person
from bank.models import Version

AT_ONCE = 50  # assignments


@require_safe
@adults_only
def answers(request: HttpRequest) -> HttpResponseBase:
    """One row for every question of every sitting in view."""
    zone = timezone.get_current_timezone()

    def lines(book: MarkBook, with_names: bool) -> Iterable[str]:
        return answer_lines(book, zone, with_names=with_names)

    return _csv(request, "answers", ANSWER_COLUMNS, lines)


@require_safe
@adults_only
def sittings(request: HttpRequest) -> HttpResponseBase:
    """One row for every sitting in view."""
    zone, at = timezone.get_current_timezone(), database_now()

    def lines(book: MarkBook, with_names: bool) -> Iterable[str]:
        return row_lines(sitting_rows(book, zone, at, with_names=with_names))

    return _csv(request, "sittings", SITTING_COLUMNS, lines)


@require_safe
@adults_only
def mistakes(request: HttpRequest) -> HttpResponseBase:
    """One row for every kind of mistake of every sitting in view."""

    def lines(book: MarkBook, with_names: bool) -> Iterable[str]:
        return row_lines(mistake_rows(book, with_names=with_names))

    return _csv(request, "mistakes", MISTAKE_COLUMNS, lines)


@require_safe
@adults_only
def items(request: HttpRequest) -> HttpResponseBase:
    """One row for every version sat in the assignments in view. It names no pupil."""
    form = ResultsForm(request.GET, user=person(request))
    if not form.is_valid():
        return _refused(request, form)
    figures = figures_by_version(tables_of(form.assignments))
    versions = Version.objects.visible_to(person(request)).filter(pk__in=figures).select_related("question")
    ordered = versions.defer("spec", "options", "checks").order_by("question__number", "number")
    rows = item_rows((version, figures[version.pk]) for version in ordered.iterator())
    return _streamed("items", csv_lines(ITEM_COLUMNS, rows), form)


@require_safe
@adults_only
def columns(request: HttpRequest) -> HttpResponse:
    files = [
        ("Answers", "One row for every question of every sitting.", ANSWER_COLUMNS.items()),
        ("Sittings", "One row for every sitting.", SITTING_COLUMNS.items()),
        ("Item statistics", "One row for every version sat. It names no pupil.", ITEM_COLUMNS.items()),
        ("Mistakes", "One row for every kind of mistake behind a pupil's choices.", MISTAKE_COLUMNS.items()),
    ]
    context = {"files": files}
    return render(request, "assignments/columns.html", context)


def _csv(
    request: HttpRequest, what: str, columns: Iterable[str], lines: Callable[[MarkBook, bool], Iterable[str]]
) -> HttpResponseBase:
    form = ResultsForm(request.GET, user=person(request))
    if not form.is_valid():
        return _refused(request, form)
    with_names = not form.cleaned_data["without_names"]
    found = list(form.assignments.order_by("opens_at", "pk").values_list("pk", "school_class"))
    for class_pk in sorted({class_pk for _, class_pk in found}):
        record(Deed.EXPORTED, by=person(request), about={"class": class_pk})

    def every_line() -> Iterator[str]:
        yield from csv_lines(columns, ())
        for assignment in _one_by_one([pk for pk, _ in found]):
            yield from lines(mark_book(assignment), with_names)

    return _streamed(what, every_line(), form)


def _one_by_one(pks: list[int]) -> Iterator[Assignment]:
    """Yield the assignments in this order. No more than a few are in memory, and the answers of one."""
    for start in range(0, len(pks), AT_ONCE):
        some = Assignment.objects.select_related("school_class").in_bulk(pks[start : start + AT_ONCE])
        yield from (some[pk] for pk in pks[start : start + AT_ONCE] if pk in some)


def _refused(request: HttpRequest, form: ResultsForm) -> HttpResponse:
    context = {"form": form, "page": None, "query": request.GET.urlencode()}
    return render(request, "assignments/results.html", context, status=400)


def _streamed(what: str, lines: Iterable[str], form: ResultsForm) -> HttpResponseBase:
    response = StreamingHttpResponse(in_blocks(lines), content_type="text/csv; charset=utf-8; header=present")
    response["Content-Disposition"] = content_disposition_header(True, _file_name(what, form))
    return response


def _file_name(what: str, form: ResultsForm) -> str:
    """Name the file after what is in it: ``answers 6 Larch 2026-05-14.csv``.

    One without names says so, lest the one with names be handed on in its place.
    """
    nameless = "without names" if form.cleaned_data.get("without_names") and what != "items" else None
    chosen = [nameless, form.cleaned_data.get("school_class"), form.cleaned_data.get("question_set")]
    day = timezone.localdate()
    return " ".join([what, *(str(one) for one in chosen if one), f"{day:%Y-%m-%d}"]) + ".csv"
