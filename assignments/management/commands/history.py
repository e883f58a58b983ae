"""Print every event of an assignment as JSON Lines, for a check from outside."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from assignments.models import Assignment, Event


class Command(BaseCommand):
    help = "Print every event of an assignment, one JSON object a line, in the order it was stored."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("assignment", type=int, help="the assignment's number, as in /results/<number>/")

    def handle(self, *args: Any, **options: Any) -> None:
        number = options["assignment"]
        if not Assignment.objects.filter(pk=number).exists():
            raise CommandError(f"There is no assignment {number}.")
        events = Event.objects.filter(sitting__assignment=number).select_related("sitting")
        for event in events.order_by("pk").iterator():
            self.stdout.write(json.dumps(line_of(event)))


def line_of(event: Event) -> dict[str, Any]:
    """``place`` is null for an answer typed in from another paper than the one that counts now."""
    places = {one["question"]: number for number, one in enumerate(event.sitting.paper, 1)}
    return {
        "sitting": event.sitting_id,
        "pupil": event.sitting.pupil_id,
        "question": event.question_id,
        "place": places.get(event.question_id),
        "kind": event.kind,
        "option": event.option,
        "client_id": str(event.client_id),
        "epoch": event.epoch,
        "seq": event.seq,
        "received_at": event.received_at.isoformat(),
        "is_late": event.is_late,
    }
