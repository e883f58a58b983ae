"""The administrator's page about the work behind the pages, and the figures for whoever watches the server."""

from __future__ import annotations

from hmac import compare_digest

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.access import SignedInRequest, administrators_only
from config import work

SHOWN = 50


@require_safe
@administrators_only
def page(request: SignedInRequest) -> HttpResponse:
    school, now = request.user.school, timezone.now()
    waiting = work.waiting_in(school)
    context = {
        "queue": work.queue(),
        "waiting": [(version, work.is_overdue(version, now)) for version in waiting[:SHOWN]],
        "in_all": waiting.count(),
        "failed": work.failed_prints(school),
    }
    return render(request, "work.html", context)


@require_POST
@administrators_only
def retry(request: SignedInRequest) -> HttpResponse:
    if work.draw_missing():
        messages.success(request, "Asked for. Missing pictures are drawn now; look again in a minute.")
    else:
        messages.error(request, "The queue does not answer, so nothing was asked for. Pages draw their own meanwhile.")
    return redirect("work")


def metrics(request: HttpRequest) -> HttpResponse:
    """Answer to the token of ``METRICS_TOKEN`` alone (RFC 6750, 2.1), and to nobody where none is set."""
    wanted, sent = f"Bearer {settings.METRICS_TOKEN}", request.headers.get("Authorization", "")
    if not settings.METRICS_TOKEN or not compare_digest(wanted.encode(), sent.encode()):
        return HttpResponse(status=404, content_type="text/plain")
    if request.method not in ("GET", "HEAD"):
        return HttpResponse(status=405, headers={"Allow": "GET, HEAD"})
    from config.metrics import exposition

    return HttpResponse(exposition(), content_type="text/plain; version=0.0.4; charset=utf-8")
