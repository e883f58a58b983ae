"""Sessions seen from outside: whose they are, and what was about to be said in them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib import import_module
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.utils.timezone import now

from accounts.models import User

MESSAGES = "_messages"  # where django.contrib.messages keeps what the next page will say


def sessions_of(user: User) -> list[Session]:
    """The sessions of a person. Whose one is stands inside it, so each is looked into."""
    return [session for session, kept in _all() if kept.get(SESSION_KEY) == str(user.pk)]


def end_sessions(user: User) -> None:
    for session in sessions_of(user):
        _store(session).delete()


def forget_messages_with(name: str) -> None:
    """Take back sentences with this name that wait in anybody's session for the next page."""
    written = json.dumps(name)[1:-1]
    for session, kept in _all():
        waiting = kept.get(MESSAGES, "")
        if name in waiting or written in waiting:
            _say_nothing(session, kept)


def _say_nothing(session: Session, kept: dict[str, Any]) -> None:
    """Take the messages out of a session, which ends when it would have; one past its time goes."""
    store = _store(session)
    if session.expire_date <= now():
        store.delete()
        return
    store.update(kept)
    del store[MESSAGES]
    store.set_expiry(session.expire_date)
    store.save()


def _all() -> Iterator[tuple[Session, dict[str, Any]]]:
    """Every session with what is in it, those past their time as well until they are cleared away."""
    return ((session, session.get_decoded()) for session in Session.objects.iterator())


def _store(session: Session) -> Any:
    """The session as the site itself opens it."""
    return import_module(settings.SESSION_ENGINE).SessionStore(session.session_key)
