"""Pictures through the queue: what nine of a question cost, and what a burst of them does to pupils who answer.

By hand: ``python -m tests.bench.bench_queue``

*Nine PNGs.* A version of three folds is sent to the worker of ``make worker`` on the real Redis, drawn, kept in
PostgreSQL and the files, told done. The floor draws the same outlines in this process by cairo alone: points ready in
lists, one grey, cairo's own PNG, nothing kept. Both draw all 26 bitmaps of the version (stem, options and steps, at two
sizes), of which nine are told. Wall time, rounds in turn, median of the rounds' ratios; goal 4.

*A burst.* 30 pupils answer at once, twice a second, while the worker rests; then while it draws 1,000 versions that
were asked for at once; then at rest again. The time that 95 of 100 answers stay under, against that at rest; goal 1.5.
All share the cores of this machine, and wall time tells only where nothing else runs.
"""

from __future__ import annotations

import io
import json
import os
import re
import secrets
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import cairocffi
import django
from redis import Redis

from tests.bench.bench_answers import PRODUCTION, SITE, Class
from tests.bench.crowd import Crowd
from tests.faults.engines import Engine, Web, all_stopped
from tests.sites import database, environment_of, run

REDIS = "redis://127.0.0.1:6379/9"
NINE_GOAL, BURST_GOAL = 4.0, 1.5
ROUNDS, PUPILS, EVERY, SECONDS, BURST = 15, 30, 0.5, 20, 1000
Outline = list[tuple[float, float]]
SHAPE = re.compile(r'<(?:path|polygon|polyline)\b[^>]*?\b(?:d|points)="([^"]+)"')
POINT = re.compile(r"([A-Za-z])?\s*(-?[\d.]+)[ ,]+(-?[\d.]+)")


def outlines(svg: str) -> tuple[float, list[Outline]]:
    """The side of a drawing and the outlines in it."""
    found: list[Outline] = []
    for text in SHAPE.findall(svg):
        found.append([])
        for letter, x, y in POINT.findall(text):
            if letter in "Mm" and letter and found[-1]:
                found.append([])
            found[-1].append((float(x), float(y)))
    side = re.search(r'viewBox="\S+ \S+ (\S+)', svg)
    return float(side[1]) if side else 1.0, [outline for outline in found if outline]


def draw(drawings: list[tuple[float, list[Outline]]], widths: list[int]) -> None:
    """The floor: each drawing at each width, as a PNG that goes nowhere."""
    for pixels in widths:
        for side, found in drawings:
            surface = cairocffi.ImageSurface(cairocffi.FORMAT_A8, pixels, pixels)
            pen = cairocffi.Context(surface)
            pen.scale(pixels / side, pixels / side)
            for outline in found:
                pen.move_to(*outline[0])
                for point in outline[1:]:
                    pen.line_to(*point)
                pen.close_path()
            pen.fill()
            surface.write_to_png(io.BytesIO())


def versions(count: int) -> list[int]:
    """New versions of a question of three folds that have no pictures yet; their numbers."""
    from django.db.models import Max

    from bank.models import Version

    first = Version.objects.filter(folds=3).order_by("pk")[0]
    last = Version.objects.filter(question=first.question_id).aggregate(last=Max("number"))["last"]
    kept = {field.attname: getattr(first, field.attname) for field in Version._meta.concrete_fields}
    for name in ("id", "number", "created_at"):
        del kept[name]
    made = Version.objects.bulk_create(Version(number=last + n, **kept) for n in range(1, count + 1))
    return [version.pk for version in made]


def nine() -> float:
    """Nine PNGs through the queue against cairo alone: the ratio."""
    from bank.models import Picture, Version
    from bank.services.pictures import WIDTHS
    from bank.tasks import render_pictures

    def through_queue(pk: int) -> float:
        began = time.perf_counter()
        render_pictures.apply_async((pk,), ignore_result=False).get(timeout=120)
        return time.perf_counter() - began

    first, *others = versions(ROUNDS + 3)
    for pk in (first, *others[:2]):  # the worker's processes have then all drawn once
        through_queue(pk)
    drawn = Version.objects.get(pk=first).pictures.exclude(kind=Picture.Kind.THUMB)
    drawings, widths = [outlines(picture.svg) for picture in drawn], list(WIDTHS.values())
    found = []
    for pk in others[2:]:
        ours, began = through_queue(pk), time.perf_counter()
        draw(drawings, widths)
        found.append((ours, time.perf_counter() - began))
    ratio = median(ours / floor for ours, floor in found)
    of_nine = 9 / (len(drawings) * len(widths)) * 1000
    ours, floor = (median(times) * of_nine for times in zip(*found, strict=True))
    print(f"nine PNGs: through the queue {ours:.0f} ms, cairo alone {floor:.0f} ms: {ratio:.2f} (goal {NINE_GOAL})")
    return ratio


def p95(address: str, class_: Class) -> float:
    """The seconds that 95 of 100 answers of a while stay under."""
    crowd, taken, end = Crowd(address, PUPILS), [], time.monotonic() + SECONDS
    try:
        while time.monotonic() < end:
            began = time.monotonic()
            taken += crowd.ask(class_.answer)[0]
            time.sleep(max(0.0, began + EVERY - time.monotonic()))
    finally:
        crowd.close()
    return sorted(taken)[int(0.95 * len(taken))]


def burst(address: str, class_: Class) -> float:
    """Answers while pictures are drawn against answers at rest: the ratio of their p95."""
    from bank.tasks import render_pictures

    p95(address, class_)  # each process of the site has then opened its connections
    before = p95(address, class_)
    for pk in versions(BURST):
        render_pictures.delay(pk)
    during = p95(address, class_)
    with Redis.from_url(REDIS) as redis:
        left = redis.llen(os.environ["TASK_QUEUE"])
        redis.delete(os.environ["TASK_QUEUE"])
    time.sleep(3)
    rest = (before + p95(address, class_)) / 2
    says = f"p95 of answers: at rest {1000 * rest:.0f} ms, with {left} of {BURST} versions still to draw"
    print(f"{says} {1000 * during:.0f} ms: {during / rest:.2f} (goal {BURST_GOAL})")
    assert left, "the burst was over too soon to tell anything"
    return during / rest


def main() -> int:
    with tempfile.TemporaryDirectory() as name, database("postgresql", Path(name)) as url:
        queue = {"REDIS_URL": REDIS, "TASK_QUEUE": f"bench-{secrets.token_hex(6)}"}
        environment = environment_of(url, Path(name), STATIC_ROOT=f"{name}/static", **PRODUCTION, **queue)
        run(environment, "manage.py", "migrate", "--verbosity", "0")
        run(environment, "manage.py", "collectstatic", "--noinput", "--verbosity", "0")
        class_ = Class(json.loads(run(environment, "-m", "tests.bench.signed_in", str(PUPILS), seconds=500)))
        os.environ.update(environment)
        django.setup()
        web = Web(environment, program=SITE, workers=2, threads=4)
        with all_stopped([web, worker := Engine(["make", "--silent", "worker"], environment)]):
            web.start()
            worker.start()
            ratios = nine() / NINE_GOAL, burst(web.address, class_) / BURST_GOAL
            return int(max(ratios) > 1)


if __name__ == "__main__":
    sys.exit(main())
