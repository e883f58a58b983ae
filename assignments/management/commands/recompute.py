"""Compute an assignment's marks anew from its events; --check holds them against the other ways they are read."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import chain
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction
from django.utils import timezone

from assignments.exports import ANSWER_COLUMNS, answer_lines, csv_lines
from assignments.mark_book import mark_book
from assignments.marking import mark
from assignments.models import Assignment, Sitting
from assignments.queries import acts_of, as_asked, stops_of
from assignments.results import Results, asked_on, results_of
from assignments.services.timing import reckoned_for

COMPARED = ("position", "outcome", "choice", "late_choice")


@contextmanager
def at_one_moment() -> Iterator[None]:
    """Read everything as it stands at the first look: while a sitting goes on, more comes between one and the next."""
    is_within = connection.in_atomic_block
    with transaction.atomic():
        if connection.vendor == "postgresql" and not is_within:
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        yield


class Command(BaseCommand):
    help = "Print the marks of an assignment, computed from its events: one JSON object for each sitting."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("assignment", type=int, help="the assignment's number, as in /results/<number>/")
        parser.add_argument(
            "--check",
            action="store_true",
            help="compute twice, the second time from the events in reverse, and read the exported file back; "
            "fail where the marks differ",
        )

    @at_one_moment()
    def handle(self, *args: Any, **options: Any) -> None:
        number = options["assignment"]
        assignment = Assignment.objects.filter(pk=number).select_related("school_class").first()
        if assignment is None:
            raise CommandError(f"There is no assignment {number}.")
        results = results_of(assignment)
        for row in results.sat:
            marks = {"sitting": row.sitting.pk, "pupil": row.pupil.pk, "marks": row.marks.to_json()}
            time = {"deadline": row.sitting.deadline.isoformat(), "given": row.sitting.given.total_seconds()}
            self.stdout.write(json.dumps(marks | time, sort_keys=True))
        if options["check"]:
            self.check_marks(results)

    def check_marks(self, results: Results) -> None:
        differing = reversed_differently(results) + exported_differently(results) + timed_differently(results)
        if differing:
            raise CommandError("The marks differ: " + "; ".join(differing))
        self.stderr.write(f"{len(results.sat)} sittings recomputed, all alike.")


def reversed_differently(results: Results) -> list[str]:
    """Name the sittings whose marks come out otherwise when the same events are read in reverse."""
    sittings = [row.sitting for row in results.sat]
    acts, stops = acts_of(sittings), stops_of(sittings)
    asked = {question.pk: as_asked(question) for question in results.questions}

    def marks(sitting: Sitting, way: int) -> bytes:
        found = acts[sitting.pk][::way]
        return mark(found, asked_on(sitting.paper, asked), sitting.started_at, stops.get(sitting.pk, ())).to_bytes()

    return [f"sitting {one.pk} read in reverse" for one in sittings if marks(one, 1) != marks(one, -1)]


def timed_differently(results: Results) -> list[str]:
    """Name the sittings whose time is not what their entries come to; on paper no clock runs."""
    on_screen = [row.sitting for row in results.sat if not row.sitting.is_on_paper]
    sittings, reckoned = sorted(on_screen, key=lambda sitting: sitting.pk), reckoned_for(on_screen)
    return [
        f"the time of sitting {sitting.pk}"
        for sitting in sittings
        if (sitting.given, sitting.stopped_at, sitting.stopped_until) != tuple(reckoned[sitting.pk])
    ]


def exported_differently(results: Results) -> list[str]:
    """Name the pupils whose answers in the exported file are not those of their marks."""
    zone = timezone.get_current_timezone()
    text = chain(csv_lines(ANSWER_COLUMNS, ()), answer_lines(mark_book(results.assignment), zone, with_names=False))
    exported: dict[int, list[tuple[str, ...]]] = {}
    for line in csv.DictReader(text):
        exported.setdefault(int(line["pupil_id"]), []).append(tuple(line[name] for name in COMPARED))
    computed = {
        row.pupil.pk: [tuple(str(one[name]) for name in COMPARED) for one in row.marks.to_json()] for row in results.sat
    }
    return [f"pupil {pk} in the export" for pk in sorted(computed) if computed[pk] != exported.get(pk)]
