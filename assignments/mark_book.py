"""The sittings of an assignment marked, as files of results take them, and no more: no pictures, nobody who was away.

A file may take hundreds of classes, one after another, so each is read in a fixed number of queries, and of a version
only what marks need.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import orjson
from django.db.models import TextField
from django.db.models.functions import Cast

from assignments.marking import Asked
from assignments.models import Assignment
from assignments.queries import mistakes_in
from assignments.results import Row, mark_sittings


@dataclass(frozen=True)
class MarkBook:
    """``numbers`` tell, for each question asked, its number in the bank and that of its version; ``sat`` are the
    sittings by the pupil's name, each marked when it is its turn, so that they can be gone through once.
    """

    assignment: Assignment
    numbers: Mapping[int, tuple[int, int]]
    sat: Iterator[Row]


def mark_book(assignment: Assignment) -> MarkBook:
    """Return the marks of an assignment (3 queries)."""
    asked: list[Asked] = []
    numbers: dict[int, tuple[int, int]] = {}
    # Options hold every outline of every hole: read as text, they are taken apart five times as fast.
    options = Cast("version__options", TextField())
    found = assignment.questions.order_by("position").values_list(
        "pk", "position", "version__question__number", "version__number", options, "ruling__accepts"
    )
    for question, position, number, version, text, ruled in found:
        made = orjson.loads(text)
        asked.append(Asked(question, position, made["key"], mistakes_in(made), ruled))
        numbers[question] = number, version
    return MarkBook(assignment, numbers, mark_sittings(assignment.sittings.select_related("pupil"), asked))
