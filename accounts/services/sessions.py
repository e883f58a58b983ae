"""Sessions seen from outside: whose they are, and what was about to be said in them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from importlib import import_module
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY

from accounts.models import User

MESSAGES = "_messages"  # where django.contrib.messages keeps what the next page will say


def sessions_of(user: User) -> Iterator[Any]:
    """The open sessions of a person. Their owners stand inside them, so each open one is looked into."""
    return (session for session in _open() if session.get(SESSION_KEY) == str(user.pk))


def end_sessions(user: User) -> None:
    for session in sessions_of(user):
        session.flush()


def forget_messages_with(name: str) -> None:
    """Take back sentences with this name that wait in anybody's session for the next page."""
    written = json.dumps(name)[1:-1]
    for session in _open():
        waiting = session.get(MESSAGES, "")
        if name in waiting or written in waiting:
            del session[MESSAGES]
            session.save()


def end_of(session: Any) -> datetime:
    return session.get_expiry_date()


def _open() -> Iterator[Any]:
    store = import_module(settings.SESSION_ENGINE).SessionStore
    for key in store.get_model_class().objects.values_list("session_key", flat=True).iterator():
        yield store(key)
