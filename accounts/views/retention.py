"""How long records are kept: shown, looked over, set."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from accounts.access import SignedInRequest, administrators_only
from accounts.record_forms import RetentionForm
from accounts.services import retention as services


@administrators_only
def retention(request: SignedInRequest) -> HttpResponse:
    """Periods sent are answered with what they would remove; sent again with ``set``, they are kept."""
    school, now = request.user.school, timezone.now()
    periods = services.periods_of(school)
    titles = {planned.kind.key: planned.kind.title for planned in services.plan(school=school, at=now)}
    form = RetentionForm.of(request, periods=periods, titles=titles)
    if form.is_valid() and "set" in request.POST:
        services.set_periods(school=school, periods=form.cleaned_data, by=request.user, at=now)
        messages.success(request, "The periods are set. They are carried out tonight.")
        return redirect("accounts:retention")
    is_preview = form.is_valid()
    plan = services.plan(school=school, at=now, periods=form.cleaned_data if is_preview else None)
    context = {
        "form": form,
        "rows": [(planned, form[planned.kind.key]) for planned in plan],
        "is_preview": is_preview,
        "longest": services.LONGEST,
    }
    return render(request, "accounts/retention.html", context, status=400 if form.errors else 200)
