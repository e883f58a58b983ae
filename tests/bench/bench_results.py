"""How long results take, as ratios to floors measured in the same run: ``python tests/bench/bench_results.py``.

On a database of its own, in a folder that is removed afterwards, or an empty one that DATABASE_URL names. CPU time;
rounds of both in turn, medians told.

class table    30 pupils x 40 questions, all marks and figures; floor: the rows of its query, the figures by numpy
items          10,000 sittings x 40 questions, all figures; floor: the rows of its query, the figures by numpy
export         the answers of a school as CSV, from the address on; floor: csv.writer over the rows of the same queries;
               and its memory as answers grow: 500,000 with --classes 417
"""

# ruff: noqa: E402  (Django is set up before its models are named)
from __future__ import annotations

import argparse
import csv
import os
import sys
import tempfile
import tracemalloc
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from time import process_time
from uuid import UUID

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))
FOLDER = tempfile.TemporaryDirectory()
os.environ |= {"DJANGO_SETTINGS_MODULE": "tests.settings", "DATA_DIR": FOLDER.name}
os.environ.setdefault("DATABASE_URL", f"sqlite:///{FOLDER.name}/bench.sqlite3")

import django

django.setup()

from django.core.management import call_command
from django.db.models import F, Q
from django.test import Client
from django.urls import reverse

from accounts.models import Role, School, SchoolClass, User
from assignments.answer_tables import tables_of
from assignments.figures import Figures
from assignments.item_statistics import item_statistics, set_statistics
from assignments.models import Assignment, Event, Sitting
from assignments.papers import LETTERS
from assignments.results import results_of
from assignments.version_figures import figures_by_version
from tests.assignments.factories import make_assignment
from tests.factories import make_adult, make_class, make_school

NOON = datetime(2026, 5, 14, 12, tzinfo=UTC)
QUESTIONS, ROUNDS, LIMIT = 40, 5, 3.0


def make_sat(school_class: SchoolClass, pupils: int, first: int) -> Assignment:
    """A set of 40 questions sat by so many pupils, 85 % of them right, in bulk."""
    lot = np.random.default_rng(first)
    keys = "".join(lot.choice(list(LETTERS), QUESTIONS))
    assignment = make_assignment(school_class, keys, allowance=3600)
    questions = list(assignment.questions.values_list("pk", flat=True))
    paper = [{"question": pk, "order": LETTERS} for pk in questions]
    made = User.objects.bulk_create(
        User(school=school_class.school, role=Role.PUPIL, name=f"Pupil {first + n}", password="!")
        for n in range(pupils)
    )
    sittings = Sitting.objects.bulk_create(
        Sitting(assignment=assignment, pupil=one, started_at=NOON, allowance=3600, paper=paper, device="b")
        for one in made
    )
    right = lot.random((pupils, QUESTIONS)) < 0.85
    other = lot.integers(0, 5, (pupils, QUESTIONS))
    events = (
        Event(
            sitting=sitting,
            question_id=question,
            kind="choose",
            option=keys[place] if right[row, place] else LETTERS[other[row, place]],
            client_id=UUID(int=(sitting.pk << 32) + place),
            epoch=1,
            seq=place + 1,
            received_at=NOON + timedelta(seconds=20 * place),
        )
        for row, sitting in enumerate(sittings)
        for place, question in enumerate(questions)
    )
    Event.objects.bulk_create(events, batch_size=2000)
    return assignment


def seconds(work: Callable[[], object]) -> float:
    start = process_time()
    work()
    return process_time() - start


def compare(name: str, work: Callable[[], object], floor: Callable[[], object], rounds: int = ROUNDS) -> float:
    measured = [(seconds(work), seconds(floor)) for _ in range(rounds)]
    ratio = median(w / f for w, f in measured)
    took, least = (median(values) * 1e3 for values in zip(*measured, strict=True))
    print(f"{name:44} {took:9.1f} ms  floor {least:8.1f} ms  ratio {ratio:.2f}")
    return ratio


def arithmetic(chosen: np.ndarray, keys: np.ndarray) -> object:
    """The figures of a page by numpy, from a ready table of letters."""
    marks = (chosen == keys).astype(float)
    total = marks.sum(axis=1)
    rest = total[:, None] - marks
    a, b = marks - marks.mean(axis=0), rest - rest.mean(axis=0)
    r = (a * b).sum(axis=0) / np.sqrt((a * a).sum(axis=0) * (b * b).sum(axis=0))
    order = np.argsort(total)
    tail = max(1, round(0.27 * len(total)))
    gap = marks[order[-tail:]].mean(axis=0) - marks[order[:tail]].mean(axis=0)
    counts = [[(chosen[:, i] == letter).sum() for letter in range(5)] for i in range(chosen.shape[1])]
    means = [
        [total[chosen[:, i] == letter].mean() if counts[i][letter] else 0 for letter in range(5)]
        for i in range(chosen.shape[1])
    ]
    return r, gap, counts, means


def choices_query(assignments: list[Assignment]):
    typed_last = Q(sitting__entered_at=None) | Q(epoch=F("sitting__epoch"))
    rows = Event.objects.filter(
        typed_last, sitting__assignment__in=assignments, kind="choose", is_late=False
    ).order_by()
    return rows.values_list("sitting_id", "question_id", "epoch", "seq", "option")


def items(assignments: list[Assignment]) -> float:
    (table,) = tables_of(assignments)
    keys = np.array([LETTERS.index(item.accepts) for item in table.items])

    def floor() -> None:
        list(choices_query(assignments))
        arithmetic(table.chosen, keys)

    return compare(
        f"items, {len(table.chosen)} x {QUESTIONS}", lambda: figures_by_version(tables_of(assignments)), floor
    )


def class_table(assignment: Assignment) -> float:
    (table,) = tables_of([assignment])
    keys = np.array([LETTERS.index(item.accepts) for item in table.items])

    def work() -> None:
        figures = Figures(results_of(assignment))
        item_statistics(figures.marks)
        set_statistics(figures.marks)

    def floor() -> None:
        list(Event.objects.filter(sitting__assignment=assignment).values_list())
        arithmetic(table.chosen, keys)

    return compare(f"class table, {len(table.chosen)} x {QUESTIONS}", work, floor)


def make_school_sat(classes: int) -> tuple[Client, list[Assignment]]:
    """A school of so many classes, each of which sat a set; its head of department, signed in."""
    school = make_school()
    sat = [make_sat(make_class(school, f"Class {n}"), 30, 20_000 + 100 * n) for n in range(classes)]
    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(make_adult(school, Role.HEAD))
    return client, sat


def export(client: Client, assignments: list[Assignment], rounds: int) -> tuple[float, int]:
    """The answers as a head of department gets them, from the address on; the ratio, and the memory it took."""

    def work() -> int:
        return sum(block.count(b"\n") for block in client.get(reverse("assignments:export_answers")).streaming_content)

    def floor() -> None:
        with Path(os.devnull).open("w") as nowhere:
            writer = csv.writer(nowhere)
            for assignment in assignments:
                rows = Event.objects.filter(sitting__assignment=assignment).order_by("epoch", "seq")
                told = rows.values_list("sitting", "question", "kind", "option", "epoch", "seq", "received_at")
                writer.writerows(told.iterator())

    ratio = compare(f"export of {work()} rows", work, floor, rounds=rounds)
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return ratio, peak


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--classes", type=int, default=21, help="of the large export; each comes to 1,200 answers")
    classes = parser.parse_args().classes
    call_command("migrate", verbosity=0)
    school: School = make_school()
    first = make_sat(make_class(school, "One"), 30, 0)
    ratios = [class_table(first)]
    big = make_sat(make_class(school, "Many"), 10_000, 1000)
    ratios.append(items([big]))
    (few, small), (many, large) = (export(*make_school_sat(count), rounds=3) for count in (5, classes))
    print(f"export's memory: {small / 2**20:.1f} MB for 5 classes, {large / 2**20:.1f} MB for {classes}")
    return 0 if max(*ratios, few, many) <= LIMIT and large < 1.5 * small else 1


if __name__ == "__main__":
    sys.exit(main())
