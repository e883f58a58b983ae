"""``{% time_record assignment %}``, or with a sitting after it: what was done to the time, in words."""

from __future__ import annotations

from typing import Any

from django.template import Library

from assignments.models import Assignment, Sitting
from assignments.time_record import changes_of, said_of

register = Library()


@register.inclusion_tag("assignments/parts/time_record.html")
def time_record(assignment: Assignment, sitting: Sitting | None = None) -> dict[str, Any]:
    return {"changes": said_of(changes_of(assignment, sitting))}
