"""Work by the clock that belongs to no room."""

from __future__ import annotations

from importlib import import_module

from celery import shared_task
from django.conf import settings


@shared_task
def forget_ended_sessions() -> None:
    """Delete sessions past their time: who signed in when is not ours to keep."""
    import_module(settings.SESSION_ENGINE).SessionStore.clear_expired()
