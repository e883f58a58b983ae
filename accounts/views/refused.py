"""The answer to a form without a good token: nearly always an honest one from a page left open too long."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache

from accounts.access import what_was_typed


@never_cache
def page_too_old(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say what to do, and give an adult back what was typed, if it was typed on a page of ours.

    What another site sends is never shown: its words would stand on our page.
    """
    ours = request.headers.get("Origin") == f"{request.scheme}://{request.get_host()}"
    sent = what_was_typed(request) if ours and request.user.is_authenticated and not request.user.is_pupil else {}
    return render(request, "accounts/page_too_old.html", {"sent": sent}, status=403)
