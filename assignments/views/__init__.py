"""Pages of sets, sittings and results."""

from __future__ import annotations

from typing import cast

from django.http import HttpRequest, QueryDict

from accounts.models import User


def person(request: HttpRequest) -> User:
    """Return who asks. The doors of ``accounts.access`` have let nobody in who is not signed in."""
    return cast("User", request.user)


def sent(request: HttpRequest) -> QueryDict | None:
    """Return the form that was sent, be it empty, or ``None`` where the page is only asked for."""
    return request.POST if request.method == "POST" else None


def small_number(text: str) -> int:
    """Return the number that an address names, 0 for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
