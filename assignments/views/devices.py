"""Which device a request comes from: a browser session is one, and a sitting is open on one at a time."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils.crypto import salted_hmac


def device_of(request: HttpRequest) -> str:
    return device_named(request.session.session_key or "")


def device_named(session_key: str) -> str:
    """Return a digest of the session's key, so that the key itself is written nowhere else."""
    return salted_hmac("assignments.device", session_key, algorithm="sha256").hexdigest()
