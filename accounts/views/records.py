"""What is kept about a pupil: found, shown, handed over, erased. For the school's administrator."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from accounts import holdings, queries
from accounts.access import SignedInRequest, administrators_only
from accounts.models import User
from accounts.record_forms import ErasureForm, PupilsFilter
from accounts.services.erasure import erase_pupil
from accounts.trail import Deed, record

A_PAGE = 50


@require_safe
@administrators_only
def listing(request: SignedInRequest) -> HttpResponse:
    """Every pupil of the school, those in no class as well."""
    form = PupilsFilter(request.GET)
    chosen = form.cleaned_data if form.is_valid() else {}
    found = queries.pupils_listed(
        request.user, asked=chosen.get("name", ""), without_class=chosen.get("without_class", False)
    )
    page = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "is_filtered": any(chosen.values())}
    return render(request, "accounts/records.html", context, status=400 if form.errors else 200)


@require_safe
@administrators_only
def held(request: SignedInRequest, pk: int) -> HttpResponse:
    pupil = _pupil(request, pk)
    record(Deed.DATA_SEEN, by=request.user, at=timezone.now(), about={"pupil": pk})
    context = {"pupil": pupil, "parts": _readable(holdings.held_about(pupil)), "at": timezone.now()}
    return render(request, "accounts/pupil_held.html", context)


@require_safe
@administrators_only
def held_json(request: SignedInRequest, pk: int) -> HttpResponse:
    """The same for a program: one object, the parts by their titles, times in ISO 8601."""
    pupil, now = _pupil(request, pk), timezone.now()
    record(Deed.DATA_EXPORTED, by=request.user, at=now, about={"pupil": pk})
    parts = {part.title: part.rows for part in holdings.held_about(pupil)}
    response = JsonResponse({"made_at": now, "parts": parts}, json_dumps_params={"indent": 1, "ensure_ascii": False})
    response["Content-Disposition"] = content_disposition_header(
        True, f"pupil {pk} {timezone.localdate():%Y-%m-%d}.json"
    )
    return response


@administrators_only
def erase(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show what will go; with the name typed, erase it."""
    pupil = _pupil(request, pk)
    form = ErasureForm.of(request, pupil=pupil)
    if form.is_valid():
        erase_pupil(pupil=pupil, by=request.user, at=timezone.now())
        messages.success(request, "The pupil and everything kept about them are erased.")
        return redirect("accounts:records")
    counts = [(part.title, len(part.rows)) for part in holdings.held_about(pupil) if not part.stays]
    context = {"pupil": pupil, "form": form, "counts": counts}
    return render(request, "accounts/pupil_erase.html", context, status=400 if form.is_bound else 200)


def _pupil(request: SignedInRequest, pk: int) -> User:
    return get_object_or_404(User.objects.pupils_managed_by(request.user).select_related("school"), pk=pk)


def _readable(parts: list[holdings.Part]) -> list[dict[str, Any]]:
    """The parts with every value as it is read: times by the school's clock, nothing as a dash."""
    return [
        {
            "title": part.title,
            "headings": part.headings,
            "rows": [[(heading, _shown(value)) for heading, value in row.items()] for row in part.rows],
        }
        for part in parts
    ]


def _shown(value: Any) -> str:
    if isinstance(value, datetime):
        return f"{timezone.localtime(value):%-d %b %Y, %H:%M:%S}"
    return "–" if value in (None, "") else str(value)
