"""Which device a request comes from: a browser session is one, and a sitting is open on one at a time."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils.crypto import salted_hmac


def device_of(request: HttpRequest) -> str:
    """Return a digest of the session, so that no session's key is written anywhere else."""
    key = request.session.session_key or ""
    return salted_hmac("assignments.device", key, algorithm="sha256").hexdigest()
