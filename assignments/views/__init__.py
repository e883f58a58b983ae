"""Pages of sets, sittings and results."""

from __future__ import annotations

from typing import cast

from django.http import HttpRequest

from accounts.models import User


def person(request: HttpRequest) -> User:
    """Return who asks. The doors of ``accounts.access`` have let nobody in who is not signed in."""
    return cast("User", request.user)
