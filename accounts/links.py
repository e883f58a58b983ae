"""Links that are given to people from outside a request: the address of the site is the one that is set."""

from __future__ import annotations

from django.conf import settings
from django.urls import reverse


def site_address() -> str:
    """As ``https://fold.school.example``: the first that a proxy may show, else the first name with the usual port."""
    for origin in settings.CSRF_TRUSTED_ORIGINS:
        if "*" not in origin:
            return origin.rstrip("/")
    return f"{'https' if settings.HTTPS else 'http'}://{settings.ALLOWED_HOSTS[0]}"


def invitation_link(token: str) -> str:
    return site_address() + reverse("accounts:invitation", args=[token])
