"""How long records are kept: shown, looked over, set."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from accounts import holdings
from accounts.access import SignedInRequest, administrators_only
from accounts.record_forms import RetentionForm
from accounts.services import retention as services


@administrators_only
def retention(request: SignedInRequest) -> HttpResponse:
    """Periods sent are answered with what they would remove; sent again with ``set``, they are kept.

    ``set`` carries the periods that were looked over: others, changed since, are shown first as well.
    """
    school, now = request.user.school, timezone.now()
    periods = services.periods_of(school)
    titles = {kind.key: kind.title for kind in holdings.kinds()}
    form = RetentionForm.of(request, periods=periods, titles=titles)
    if form.is_valid() and request.POST.get("set") == _looked_over(form):
        services.set_periods(school=school, periods=form.cleaned_data, by=request.user, at=now)
        messages.success(request, "The periods are set. They are carried out tonight.")
        return redirect("accounts:retention")
    is_preview = form.is_valid()
    plan = services.plan(school=school, at=now, periods=form.cleaned_data if is_preview else None)
    context = {
        "form": form,
        "rows": [(planned, form[planned.kind.key]) for planned in plan],
        "looked_over": _looked_over(form) if is_preview else "",
        "longest": services.LONGEST,
    }
    return render(request, "accounts/retention.html", context, status=400 if form.errors else 200)


def _looked_over(form: RetentionForm) -> str:
    return " ".join(f"{key}={months}" for key, months in form.cleaned_data.items())
