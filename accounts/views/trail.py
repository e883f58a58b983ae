"""The audit trail, shown to the school's administrator and taken away as CSV."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from accounts import queries, trail_queries
from accounts.access import SignedInRequest, administrators_only
from accounts.record_forms import TrailFilter
from accounts.trail import Deed, Entry, record

A_PAGE = 50
COLUMNS = ("at", "by_id", "by_email", "deed", "about")


@require_safe
@administrators_only
def listing(request: SignedInRequest) -> HttpResponse:
    form = TrailFilter(request.GET, staff=queries.adults_of(request.user))
    is_good = form.is_valid()
    entries = trail_queries.trail_of(request.user, form.cleaned_data) if is_good else Entry.objects.none()
    page = Paginator(entries, A_PAGE).get_page(request.GET.get("page"))
    shown = trail_queries.with_names(request.user.school, page.object_list)
    context = {"form": form, "page": page, "entries": shown, "query": request.GET.urlencode()}
    return render(request, "accounts/trail.html", context, status=200 if is_good else 400)


@require_safe
@administrators_only
def export(request: SignedInRequest) -> HttpResponseBase:
    """The entries as the page filters them, streamed; numbers in place of names."""
    form = TrailFilter(request.GET, staff=queries.adults_of(request.user))
    if not form.is_valid():
        return listing(request)
    record(Deed.TRAIL_EXPORTED, by=request.user, at=timezone.now())
    entries = trail_queries.trail_of(request.user, form.cleaned_data)
    response = StreamingHttpResponse(_lines(entries), content_type="text/csv; charset=utf-8; header=present")
    response["Content-Disposition"] = content_disposition_header(
        True, f"audit trail {timezone.localdate():%Y-%m-%d}.csv"
    )
    return response


class _Echo:
    """A file that hands back what is written to it, so that csv.writer makes single lines."""

    def write(self, line: str) -> str:
        return line


def _lines(entries: Any) -> Iterator[str]:
    """Lines by RFC 4180. No cell can begin as a formula does: numbers, times and words of the program's own,
    and addresses, which begin with a letter or figure or are quoted as text."""
    writer = csv.writer(_Echo(), lineterminator="\r\n")
    yield writer.writerow(COLUMNS)
    for entry in entries.iterator(chunk_size=1000):
        yield writer.writerow(_cells(entry))


def _cells(entry: Entry) -> tuple[Any, ...]:
    email = entry.by.email if entry.by else ""
    about = "; ".join(f"{kind} {number}" for kind, number in sorted(entry.about.items()))
    at = timezone.localtime(entry.at).isoformat(timespec="seconds")  # the school's clock, as on the page
    return at, entry.by_id or "", _no_formula(email), entry.deed, about


def _no_formula(cell: str | None) -> str:
    """An address may begin with ``=`` or ``+``; an apostrophe has spreadsheets take it for text."""
    return f"'{cell}" if cell and cell[0] in "=+-@\t\r" else cell or ""
