"""What a tagged booklet costs beside page streams written by hand, in CPU time and in bytes. By hand:

    SECRET_KEY=... DJANGO_SETTINGS_MODULE=config.settings python -m tests.bench.bench_paper

The floor writes the same marks of the same pictures to the same places, each page one compressed stream: no tags, no
embedded font, no alternative texts, no layout. Both are given ready drawings, as text; what drawing them takes is told
apart. Times are CPU time, the median of rounds taken in turn. The typesetter remembers what it has set, so each round
has questions and a title of its own, and "cold" is the first work of a fresh process, fonts and all. Goals: the booklet
of 20 questions within 1.5 times the floor's CPU and twice its bytes, 30 answer sheets with names within 3 times one.
"""

from __future__ import annotations

import re
import subprocess
import sys
import time
import zlib
from collections.abc import Callable
from dataclasses import replace
from statistics import median
from typing import Any

import django

ROUNDS = 9
QUESTIONS = 20
MM = 72 / 25.4
NUMBERS = re.compile(r"[MHVLZz]|-?\d+(?:\.\d+)?")
MARK = re.compile(r"<path ([^>]*?)d=\"([^\"]*)\"/>")
ATTRIBUTE = re.compile(r'([a-z-]+)="([^"]*)"')


def operators(path: str) -> str:
    """Path text of our pictures (M, H, L understood or implied, z) as PDF operators."""
    out: list[str] = []
    waiting: list[str] = []
    command, y = "M", "0"
    for token in NUMBERS.findall(path):
        if token in "Zz":
            out.append("h")
        elif token.isalpha():
            command, waiting = token, []
        elif command == "H":
            out.append(f"{token} {y} l")
        else:
            waiting.append(token)
            if len(waiting) == 2:
                x, y = waiting
                out.append(f"{x} {y} {'m' if command == 'M' else 'l'}")
                command, waiting = "L", []
    return "\n".join(out)


def marks(svg: str) -> str:
    """A picture's marks as a content stream, in its own units."""
    out = []
    for pens, path in MARK.findall(svg):
        pen = dict(ATTRIBUTE.findall(pens))
        fill, stroke = pen.get("fill", "none"), pen.get("stroke", "none")
        setting = f"{pen.get('stroke-width', 1)} w 1 J [{pen.get('stroke-dasharray', '')}] 0 d"
        colours = f"{grey(fill)} g {grey(stroke)} G"
        paint = {(True, True): "B*", (True, False): "f*", (False, True): "S"}[fill != "none", stroke != "none"]
        out.append(f"{setting} {colours}\n{operators(path)}\n{paint}")
    return "\n".join(out)


def grey(colour: str) -> str:
    return "1" if colour.upper() == "#FFFFFF" else "0"


def page_stream(questions: list[dict[str, Any]]) -> str:
    out, top = [], 800.0
    for question in questions:
        out.append(f"BT /F1 14 Tf 40 {top - 12} Td ({question['number']}) Tj ET")
        for row in [*question["stem"], *question["options"]]:
            left, high = 66.0, max(picture["high"] for picture in row) * MM
            for picture in row:
                scale = picture["wide"] * MM / width_of(picture["svg"])
                out.append(f"q {scale:.6f} 0 0 {-scale:.6f} {left:.2f} {top:.2f} cm\n{marks(picture['svg'])}\nQ")
                under = picture.get("letter") or picture["caption"]
                out.append(f"BT /F1 10 Tf {left + 40:.2f} {top - high - 8:.2f} Td ({under}) Tj ET")
                left += picture["wide"] * MM
            top -= high + 14
        top -= 12
    return "\n".join(out)


def width_of(svg: str) -> float:
    found = re.search(r'viewBox="\S+ \S+ (\S+)', svg)
    assert found
    return float(found[1])


def by_hand(data: dict[str, Any]) -> bytes:
    """The floor: a PDF of page streams alone."""
    pages = [page_stream([{"number": "", **data["example"]}]), *map(page_stream, data["pages"])]
    out = [b"<</Type/Catalog/Pages 2 0 R>>"]
    kids = " ".join(f"{4 + 2 * n} 0 R" for n in range(len(pages)))
    out.append(f"<</Type/Pages/Count {len(pages)}/Kids[{kids}]>>".encode())
    out.append(b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>")
    for n, page in enumerate(pages):
        body = zlib.compress(page.encode(), 6)
        box = "/MediaBox[0 0 595.28 841.89]/Resources<</Font<</F1 3 0 R>>>>"
        out.append(f"<</Type/Page/Parent 2 0 R{box}/Contents {5 + 2 * n} 0 R>>".encode())
        out.append(f"<</Length {len(body)}/Filter/FlateDecode>>stream\n".encode() + body + b"\nendstream")
    file, places = bytearray(b"%PDF-1.4\n"), []
    for number, thing in enumerate(out, 1):
        places.append(len(file))
        file += f"{number} 0 obj\n".encode() + thing + b"\nendobj\n"
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    size = len(out) + 1
    tail = (
        f"xref\n0 {size}\n0000000000 65535 f \n{table}trailer<</Size {size}/Root 1 0 R>>\nstartxref\n{len(file)}\n%%EOF"
    )
    return bytes(file) + tail.encode()


def seconds(work: Callable[[], Any]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def ready_booklets(count: int) -> list[dict[str, Any]]:
    """So many booklets of 20 questions each, no two questions alike, ready to be typeset."""
    from assignments.paper.booklet import booklet_data
    from assignments.paper.editions import Edition
    from assignments.paper.shuffles import arrange
    from bank.models import Question, Version
    from geometry.generation import generate
    from tests.assignments.paper.material import HEADING

    made = generate(count=QUESTIONS * count, seed=11, folds=(2, 3), punches=(1, 2), sets="teaching")
    versions = [
        Version(pk=pk, question=Question(pk=pk), spec=spec.to_json(), options=options.to_json(), fingerprint=f"{pk}")
        for pk, (spec, options) in enumerate(made, 1)
    ]
    shares = [versions[start : start + QUESTIONS] for start in range(0, len(versions), QUESTIONS)]
    headings = [replace(HEADING, title=f"Set {n} of a term", class_name=f"Class {n}") for n in range(1, count + 1)]
    return [
        booklet_data(heading, 1, arrange(1, 1, share), Edition())
        for heading, share in zip(headings, shares, strict=True)
    ]


def answer_sheets(count: int, first: int = 0) -> bytes:
    from assignments.paper.answer_sheets import Sheet, make_answer_sheets
    from assignments.paper.editions import Edition
    from assignments.paper.sheet_codes import SheetName
    from tests.assignments.paper.material import HEADING

    pupils = range(first, first + count)
    sheets = [Sheet(SheetName(1, 2, 1, pupil), f"Pupil {pupil}") for pupil in pupils]
    return make_answer_sheets(HEADING, QUESTIONS, sheets, Edition())


def cold(work: str) -> float:
    """Seconds of CPU that the first work of a fresh process takes, its imports not counted."""
    code = (
        "import django, time; django.setup(); from assignments.paper import orders\n"
        "from tests.bench.bench_paper import answer_sheets\n"
        f"start = time.process_time(); {work}; print('took', time.process_time() - start)"
    )
    times = []
    for _ in range(3):
        run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        times.append(float(run.stdout.split("took")[1]))
    return median(times)


def main() -> None:
    django.setup()
    from assignments.paper.typesetting import typeset

    start = time.process_time()
    booklets = ready_booklets(ROUNDS)
    drawing = (time.process_time() - start) / ROUNDS
    rounds = [(seconds(lambda d=data: by_hand(d)), seconds(lambda d=data: typeset("booklet", d))) for data in booklets]
    floor, taken = (median(column) for column in zip(*rounds, strict=True))
    sizes = [(len(by_hand(data)), len(typeset("booklet", data))) for data in booklets]
    small, large = median(a for a, _ in sizes), median(b for _, b in sizes)
    print(
        f"{QUESTIONS} questions: by hand {floor * 1e3:.0f} ms, {small / 1e3:.0f} kB; "
        f"typeset {taken * 1e3:.0f} ms = {taken / floor:.2f} x (goal 1.5), "
        f"{large / 1e3:.0f} kB = {large / small:.2f} x (goal 2); finding and drawing them {drawing * 1e3:.0f} ms"
    )
    one = median(seconds(lambda n=n: answer_sheets(1, 1000 * n)) for n in range(ROUNDS))
    many = median(seconds(lambda n=n: answer_sheets(30, 1000 * n + 100)) for n in range(ROUNDS))
    print(f"answer sheets: one {one * 1e3:.0f} ms, 30 with names {many * 1e3:.0f} ms = {many / one:.1f} x")
    one, many = cold("answer_sheets(1)"), cold("answer_sheets(30)")
    print(f"cold: one {one * 1e3:.0f} ms, 30 with names {many * 1e3:.0f} ms = {many / one:.1f} x (goal 3)")


if __name__ == "__main__":
    main()
