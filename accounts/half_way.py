"""Half way in: the password was right, the code of the second factor is still to come.

Who that is stands in the session, for five minutes, with a digest of the password's hash: a password changed meanwhile
ends it.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.http import HttpRequest
from django.utils.crypto import constant_time_compare

from accounts.models import User

HALF_WAY = "half_way_in"
LASTS = timedelta(minutes=5)


def begin(request: HttpRequest, user: User, at: datetime) -> None:
    """Remember who has shown a password, under a new session id; whoever was signed in here is so no more."""
    request.session.flush()
    until = (at + LASTS).timestamp()
    request.session[HALF_WAY] = {"user": user.pk, "until": until, "hash": user.get_session_auth_hash()}


def who(request: HttpRequest, at: datetime) -> User | None:
    """Who has come half way; None if nobody, or too long ago, or with a password that is no more."""
    kept = request.session.get(HALF_WAY)
    if kept is None or at.timestamp() > kept["until"]:
        return None
    user = User.objects.adults().filter(pk=kept["user"], is_active=True).first()
    if user is None or not constant_time_compare(user.get_session_auth_hash(), kept["hash"]):
        return None
    return user
