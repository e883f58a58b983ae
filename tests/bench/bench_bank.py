"""How long the bank's list takes with 10,000 questions beside 100: ``python tests/bench/bench_bank.py [--large N]``.

Both banks lie in one database, each a school's, made past the services from six real questions: their pictures, their
creases, shapes and mistakes mixed, three of forty tags on each. CPU time of the whole view, the two schools asked in
turn; the 95th percentile over all searches is told for both, their ratio, and the number of queries of each.

Databases: SQLite in a temporary file, or what DATABASE_URL names (emptied and made anew).
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import tempfile
from pathlib import Path
from statistics import quantiles
from time import perf_counter, process_time

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
LIMIT = 3.0
ROUNDS = 12
SEARCHES = (
    "",
    "page=3",
    "q=thirds",
    "q=corner",
    "q=tag+7",
    "q=4711",
    "level=3&folds=2&folds=3",
    "crease=diagonal&shape=heart",
    "mistake=wrong-line&mistake=slid",
    "sort=hardest",
    "state=draft&state=ready&state=retired&sort=easiest",
    "tag={tag}",
    "unused={school_class}",
    "facility=hard&facility=middling",
    "facility=unsat",
)


def prepare(folder: str) -> None:
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/bench.sqlite3")
    settings = {"SECRET_KEY": "x" * 50, "HTTPS": "0", "DATA_DIR": folder, "LOG_LEVEL": "ERROR"}
    os.environ |= settings | {"SECOND_FACTOR_REQUIRED": "0", "DJANGO_SETTINGS_MODULE": "tests.settings"}
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("flush", verbosity=0, interactive=False)


def make_bank(count: int, lot: random.Random):
    """A school with so many questions; return a teacher of it, a tag and a class."""
    from accounts.models import School, SchoolClass
    from bank.models import Picture, Question, Tag, Version
    from tests.factories import make_adult
    from tests.small_school import make_questions

    school = School.objects.create(name=f"School of {count}")
    teacher, colleague = make_adult(school), make_adult(school)
    school_class = SchoolClass.objects.create(school=school, name="6 Larch")
    school_class.teachers.add(teacher)
    models = [question.current for question in make_questions(teacher, 6)]
    thumbs = {model.pk: list(model.pictures.filter(kind="thumb")) for model in models}
    facts = ("creases", "shapes", "mistakes")
    words = [{fact: getattr(model.question, fact) for fact in facts} for model in models]
    tags = Tag.objects.bulk_create(
        Tag(school=school, name=name) for name in ["thirds", *(f"tag {n}" for n in range(39))]
    )
    questions = Question.objects.bulk_create(
        Question(
            school=school,
            number=number,
            author=lot.choice((teacher, colleague)),
            state=lot.choice(("draft", "ready", "ready", "ready", "retired")),
            note=lot.choice(("", "", "for a corner", "slow and steady")),
            level=lot.randint(1, 5),
            folds=lot.randint(1, 4),
            **{fact: lot.choice(words)[fact] for fact in facts},
        )
        for number in range(7, count + 1)
    )
    copied = ("spec", "options", "checks", "difficulty", "level", "folds", "punches", "fingerprint")
    for start in range(0, len(questions), 500):
        some = questions[start : start + 500]
        sources = [lot.choice(models) for _ in some]
        versions = Version.objects.bulk_create(
            Version(question=q, number=1, **{name: getattr(m, name) for name in copied})
            for q, m in zip(some, sources, strict=True)
        )
        for question, version in zip(some, versions, strict=True):
            question.current = version
        Question.objects.bulk_update(some, ["current"])
        Picture.objects.bulk_create(
            Picture(version=v, kind="thumb", place=p.place, name=f"{v.pk}-{p.place}", title=p.title, svg=p.svg)
            for v, m in zip(versions, sources, strict=True)
            for p in thumbs[m.pk]
        )
    from assignments.models import Facility

    Facility.objects.bulk_create(
        Facility(version=question.current, sittings=lot.randint(1, 200), share=lot.random())
        for question in lot.sample(questions, len(questions) // 2)
    )
    through = Question.tags.through
    ties = [through(question=q, tag=tag) for q in questions for tag in lot.sample(tags, 3)]
    through.objects.bulk_create(ties, batch_size=2000)
    return teacher, tags[5], school_class


def ask(client, address: str) -> tuple[float, int]:
    """Milliseconds of CPU of the view, and how many queries it asked."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as queries:
        clock = process_time if connection.vendor == "sqlite" else perf_counter
        start = clock()
        answer = client.get(address)
        took = (clock() - start) * 1000
    assert answer.status_code == 200, address
    return took, len(queries)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--large", type=int, default=10_000)
    parser.add_argument("--small", type=int, default=100)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        prepare(folder)
        from django.db import connection
        from django.test import Client

        lot = random.Random(7)
        places = {}
        for size in (args.small, args.large):
            teacher, tag, school_class = make_bank(size, lot)
            client = Client(headers={"host": "127.0.0.1"})
            client.force_login(teacher)
            places[size] = client, [f"/bank/?{s.format(tag=tag.pk, school_class=school_class.pk)}" for s in SEARCHES]
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
        return compare(places, args)


def compare(places, args) -> int:
    times = {size: {address: [] for address in addresses} for size, (_, addresses) in places.items()}
    counts = {size: [] for size in places}
    for turn in range(ROUNDS + 1):
        for size, (client, addresses) in places.items():
            for address in addresses:
                took, queries = ask(client, address)
                if turn:  # the first round warms up
                    times[size][address].append(took)
                counts[size].append(queries)
    for small, large in zip(places[args.small][1], places[args.large][1], strict=True):
        a, b = sorted(times[args.small][small])[ROUNDS // 2], sorted(times[args.large][large])[ROUNDS // 2]
        print(f"{large:60} {a:7.1f} ms {b:7.1f} ms  x {b / a:.2f}")
    p95 = {size: quantiles([t for one in times[size].values() for t in one], n=20)[-1] for size in places}
    ratio = p95[args.large] / p95[args.small]
    print(
        f"p95 of {args.small}: {p95[args.small]:.1f} ms; of {args.large}: {p95[args.large]:.1f} ms; ratio {ratio:.2f}"
    )
    print("queries: " + "; ".join(f"{size}: {min(asked)} to {max(asked)}" for size, asked in counts.items()))
    return 0 if ratio <= LIMIT else 1


if __name__ == "__main__":
    sys.exit(main())
