"""The booklet: a title page with instructions and a worked example, then the questions, none split over a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from assignments.paper.drawings import Drawn, drawn, in_rows, scale
from assignments.paper.editions import Edition
from assignments.paper.example import Example, example_beside
from assignments.paper.shuffles import Printed
from assignments.paper.typesetting import count_pages, typeset
from assignments.papers import LETTERS
from assignments.school_time import say_duration

ON_SHEET = (
    "Mark the letter of your answer on the answer sheet.",
    "Each question has one right answer. The answer sheet shows how to change one.",
)
IN_BOOKLET = (
    "Put a ring round the letter of your answer.",
    "Each question has one right answer. To change an answer, cross it out and mark the new one clearly.",
)
POINT = 25.4 / 72  # millimetres


@dataclass(frozen=True)
class Heading:
    """What stands at the head of everything printed of a set. ``seconds`` is the time allowed."""

    title: str
    school: str
    seconds: int
    class_name: str = ""
    papers: int = 1

    def of_paper(self, paper: int) -> str:
        """The paper's name where there are several, else ""."""
        return f"Paper {paper}" if self.papers > 1 else ""


def make_booklet(
    heading: Heading, paper: int, questions: Sequence[Printed], edition: Edition, *, on_sheet: bool = False
) -> bytes:
    """Return the booklet as PDF; ``on_sheet``: answers go on a sheet of their own."""
    data = booklet_data(heading, paper, questions, edition, on_sheet=on_sheet)
    made = typeset("booklet", data)
    last = count_pages(made)
    return made if last == data["last"] else typeset("booklet", data | {"last": last})


def booklet_data(
    heading: Heading, paper: int, questions: Sequence[Printed], edition: Edition, *, on_sheet: bool = False
) -> dict[str, Any]:
    """Return what the template is given; ``last`` is the number of the last page if the title takes one."""
    example = example_beside({question.version.fingerprint for question in questions})
    blocks = [_block(drawn(q), q.order, edition) | {"number": q.number} for q in questions]
    pages = list(_pages(blocks, edition))
    return {
        "title": heading.title,
        "paper": heading.of_paper(paper),
        "school": heading.school,
        "class": heading.class_name,
        "time": say_duration(heading.seconds),
        "count": len(questions),
        "edition": edition.to_json(),
        "notes": _notes(edition),
        "instructions": _instructions(len(questions), on_sheet=on_sheet),
        "example": _example_block(example, edition),
        "pages": pages,
        "last": len(pages) + 1,
    }


def _instructions(count: int, *, on_sheet: bool) -> list[str]:
    return [
        "In each question a sheet of paper is folded. An arrow shows where the paper goes. Then holes are punched "
        "through all the layers.",
        "One of the pictures A to E shows the sheet when it is opened out flat again. Find it.",
        *(ON_SHEET if on_sheet else IN_BOOKLET),
        f"There {'is one question' if count == 1 else f'are {count} questions'}. "
        "If one takes you long, go on and come back to it.",
    ]


def _notes(edition: Edition) -> list[str]:
    """Which edition this is, for whoever hands it out."""
    return [
        *(["Large print"] if edition.large else []),
        *(["For tinted paper: printed in black alone, without grey"] if edition.tinted else []),
    ]


def _block(question: Drawn, order: str, edition: Edition) -> dict[str, Any]:
    """One question, its pictures at one scale in rows that fit the page; ``height`` is the room they need."""
    stem, answers = question.stem, question.in_order(order)
    sheet = min([edition.sheet, *(edition.width / picture["wide"] for picture in [*stem, *answers])])
    while True:
        rows = {
            "stem": in_rows(scale(stem, sheet), edition.width, edition.columns),
            "options": in_rows(scale(answers, sheet), edition.width, edition.columns),
        }
        height = _height(rows, edition)
        if height <= edition.height:
            return rows | {"height": height}
        sheet *= 0.95  # many folds in large print, or very tall paper


def _example_block(example: Example, edition: Edition) -> dict[str, Any]:
    block = _block(example.drawn, LETTERS, edition)
    return block | {"key": example.options.key, "says": example.says}


def _height(rows: dict[str, list[list[dict[str, Any]]]], edition: Edition) -> float:
    """The height in millimetres of rows of pictures, each with a line of text under it, and of the gap between.

    Three questions of one fold fill a page of US Letter so.
    """
    em = edition.points * POINT
    return em / 2 + sum(max(picture["high"] for picture in row) + 1.5 * em for row in [*rows["stem"], *rows["options"]])


def _pages(blocks: Sequence[dict[str, Any]], edition: Edition) -> Iterator[list[dict[str, Any]]]:
    """The questions of each page: as many as the edition says, fewer where tall ones need the room."""
    pages = list(_filled(blocks, edition))
    usual = max(map(len, pages)) if len(pages) > 1 else edition.questions_a_page
    for number, page in enumerate(pages, 1):
        yield _spread(page, usual if number == len(pages) else len(page), edition)


def _filled(blocks: Sequence[dict[str, Any]], edition: Edition) -> Iterator[list[dict[str, Any]]]:
    page: list[dict[str, Any]] = []
    for block in blocks:
        full = len(page) == edition.questions_a_page
        if page and (full or _needed([*page, block]) > edition.height):
            yield page
            page = []
        page.append(block)
    if page:
        yield page


def _spread(page: list[dict[str, Any]], places: int, edition: Edition) -> list[dict[str, Any]]:
    """The page's questions with the room that is left shared out; a last page may leave places free."""
    needed = _needed(page) * max(1.0, places / len(page))
    spare = max(0.0, edition.height - needed) / max(places, len(page))
    return [block | {"height": block["height"] + spare} for block in page]


def _needed(blocks: Sequence[dict[str, Any]]) -> float:
    return sum(block["height"] for block in blocks)
