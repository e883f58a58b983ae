"""Take questions away as a file, and bring such a file in: looked over first, then the new ones or nothing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.access import SignedInRequest, adults_only
from accounts.trail import Deed, record
from bank.display import thumbs_of
from bank.errors import ExchangeError, SelectionError, TagError
from bank.exchange import MOST, SCHEMA
from bank.exchange.reading import MAX_BYTES
from bank.exchange.writing import write_file
from bank.forms.exchange import FileForm, TakeForm
from bank.models import Import
from bank.repeats import Asked, repeats_of
from bank.selection import read_selection
from bank.services import importing

A_PAGE = 25


@require_POST
@adults_only
def export(request: SignedInRequest) -> HttpResponse:
    """Answer with the chosen questions as one file."""
    try:
        chosen = read_selection(request.POST, request.user, most=MOST)
    except SelectionError as error:
        messages.error(request, str(error))
        return redirect("bank:list")
    questions = chosen.questions.select_related("current").prefetch_related("tags").order_by("number")
    body = write_file(questions, notes="notes" in request.POST)
    record(Deed.QUESTIONS_EXPORTED, by=request.user, about={"questions": len(chosen)})
    response = HttpResponse(body, content_type="application/json")
    response["Content-Disposition"] = f'attachment; filename="questions-{timezone.localdate():%Y-%m-%d}.json"'
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def bring(request: SignedInRequest) -> HttpResponse:
    """Ask for a file, and look it over."""
    form = FileForm(request.POST, request.FILES) if request.method == "POST" else FileForm()
    if form.is_valid():
        try:
            found = importing.look_over(data=form.cleaned_data["file"], by=request.user, at=timezone.now())
        except ExchangeError as error:
            form.refuse(error)
        else:
            return redirect("bank:looked_over", found.pk)
    context = {"form": form, "most": MOST, "megabytes": MAX_BYTES // 1_000_000}
    return render(request, "bank/import.html", context, status=400 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def looked_over(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show what would happen; sent, it happens: the new questions all come in, or all are left."""
    found = get_object_or_404(Import.objects.visible_to(request.user).defer("content"), pk=pk)
    if request.POST.get("do") == "leave":
        importing.leave(found=found)
        messages.success(request, "Nothing was brought in.")
        return redirect("bank:list")
    form = TakeForm(request.POST) if request.method == "POST" else TakeForm()
    if form.is_valid():
        try:
            return _take(request, found, form.cleaned_data)
        except TagError as error:
            form.add_error("tag", str(error))
    return render(request, "bank/looked_over.html", _preview(request, found, form), status=400 if form.errors else 200)


@require_safe
@adults_only
def format_page(request: SignedInRequest) -> HttpResponse:
    """Say what stands in a file, for whoever reads or writes one."""
    return render(request, "bank/format.html", {"most": MOST, "megabytes": MAX_BYTES // 1_000_000})


@require_safe
def schema(request: HttpRequest) -> HttpResponse:
    """Answer anybody with the JSON Schema of the format: it holds nothing of any school."""
    return HttpResponse(SCHEMA.read_bytes(), content_type="application/schema+json")


def _take(request: SignedInRequest, found: Import, wanted: dict[str, Any]) -> HttpResponse:
    was_taken = found.taken_at is not None
    ready, tag = wanted["state"] == "ready", wanted["tag"]
    numbers = importing.take(found=found, ready=ready, tag=tag, by=request.user, at=timezone.now())
    if was_taken:
        messages.success(request, "These questions were brought in before. Nothing was done twice.")
    else:
        count = len(numbers)
        messages.success(request, f"{count} question{'s are' if count != 1 else ' is'} in the bank.")
    return redirect("bank:looked_over", found.pk)


def _preview(request: SignedInRequest, found: Import, form: TakeForm) -> dict[str, Any]:
    counts = dict.fromkeys((importing.NEW, importing.REPEATED, importing.REFUSED), 0)
    for row in found.found:
        counts[row["outcome"]] += 1
    wanted = request.GET.get("show", "")
    rows = [row for row in found.found if wanted not in counts or row["outcome"] == wanted]
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    stems = thumbs_of(row["spec"] for row in page if "spec" in row)
    for row in page:
        row["stem"] = next(stems) if "spec" in row else ()
    new = [row for row in page if "folding" in row and not found.taken_at]
    for row, repeats in zip(new, repeats_of(found.school_id, list(map(Asked.of_content, new))), strict=True):
        row["repeats"] = repeats
    return {
        "found": found,
        "form": form,
        "counts": counts,
        "nearly": any(row["repeats"].near for row in new),
        "page": page,
        "shown": wanted if wanted in counts else "",
        "numbers": f"{found.taken[0]} to {found.taken[-1]}" if len(found.taken) > 1 else "".join(map(str, found.taken)),
    }
