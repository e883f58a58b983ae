"""``{{ at|moment }}`` and ``{{ seconds|duration }}``: times in the words of ``assignments.school_time``."""

from __future__ import annotations

from datetime import datetime

from django.template import Library
from django.utils import timezone

from assignments.school_time import say_briefly, say_duration, say_left, say_moment

register = Library()


@register.filter
def moment(at: datetime | None) -> str:
    return say_moment(at, timezone.get_current_timezone()) if at else ""


@register.filter
def briefly(at: datetime) -> str:
    return say_briefly(at, timezone.get_current_timezone())


@register.filter
def duration(seconds: float) -> str:
    return say_duration(round(seconds))


@register.filter
def left(seconds: int) -> str:
    return say_left(seconds)


@register.filter
def clock(seconds: float) -> str:
    """Write a length of time as minutes and seconds: 95 is 1:35."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02}"
