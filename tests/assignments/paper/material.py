"""Questions to print, without a database, and readers of what was printed that are not the typesetter's own."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from typing import Any

import numpy as np
import pikepdf
import pypdfium2

from assignments.paper.booklet import Heading
from bank.models import Question, Version
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.small_school import SPECS, spec_of

MM = 25.4  # to the inch
POINTS = 72  # to the inch
HEADING = Heading(title="Thursday set", school="Tarnlow School", seconds=600, class_name="6 Larch")


@cache
def versions(count: int) -> list[Version]:
    """So many versions, not saved; beyond the sixth their paper comes again under another question."""
    made = [(spec, make_options(spec, seed=7)) for spec in (read_spec(spec_of(*one)) for one in SPECS)]
    found = []
    for pk in range(1, count + 1):
        spec, options = made[(pk - 1) % len(made)]
        facts = {"folds": len(spec.folds), "level": 2, "fingerprint": options.fingerprint}
        question = Question(pk=pk, number=100 + pk)
        found.append(Version(pk=pk, question=question, spec=spec.to_json(), options=options.to_json(), **facts))
    return found


# --- as pixels -------------------------------------------------------------------------------------------------
def pixels(pdf: bytes, page: int, dpi: int = 300) -> np.ndarray:
    """A page as rows of grey values, by pdfium."""
    with pypdfium2.PdfDocument(pdf) as document:
        return document[page].render(scale=dpi / POINTS).to_numpy().mean(axis=2)


def dark_runs(row: np.ndarray) -> list[tuple[int, int]]:
    """Where a row of pixels is dark without a gap: starts and ends."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (row < 128).astype(int), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def lines_across(image: np.ndarray, *, longer: float, dpi: int = 300) -> list[list[float]]:
    """For each row that has dark runs longer than so many millimetres, their lengths in millimetres."""
    runs = ([(end - start) * MM / dpi for start, end in dark_runs(row)] for row in image)
    return [kept for row in runs if (kept := [length for length in row if length > longer])]


# --- as text ---------------------------------------------------------------------------------------------------
def texts(pdf: bytes) -> list[str]:
    """The text of each page, by pdfium."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


def middles(pdf: bytes, page: int, word: str) -> list[float]:
    """How far from the left, in millimetres, the middle of each such word of a page stands."""
    with pypdfium2.PdfDocument(pdf) as document:
        text = document[page].get_textpage()
        starts = [found.start() for found in re.finditer(rf"\b{word}\b", text.get_text_range())]
        boxes = [[text.get_charbox(start + k) for k in range(len(word))] for start in starts]
        return [(box[0][0] + box[-1][2]) / 2 * MM / POINTS for box in boxes]


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page in millimetres."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [(page.get_width() * MM / POINTS, page.get_height() * MM / POINTS) for page in document]


# --- as objects --------------------------------------------------------------------------------------------------
def opened(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(pdf))


def elements(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Dictionary]:
    """Every element of the structure tree, in reading order."""
    waiting: list[Any] = [pdf.Root.StructTreeRoot.K]
    while waiting:
        node = waiting.pop()
        if isinstance(node, pikepdf.Array):
            waiting += reversed(list(node))
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                yield node
            if "/K" in node:
                waiting.append(node.K)


def of_kind(pdf: pikepdf.Pdf, kind: str) -> list[pikepdf.Dictionary]:
    return [element for element in elements(pdf) if str(element.S) == kind]


def streams_of_marks(pdf: pikepdf.Pdf) -> Iterator[Any]:
    """What paints: the pages, and the forms that pages place."""
    yield from pdf.pages
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Form":
            yield thing
