"""Answer sheets: one page for each pupil, or one to copy, with a row of boxes A to E for every question."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from assignments.paper.booklet import Heading
from assignments.paper.editions import Edition
from assignments.paper.sheet_codes import SheetName, code_of, qr_svg
from assignments.paper.typesetting import typeset, unprintable

ROWS = 25  # in a column, at most: with 100 questions, four columns
FEWEST_ROWS = 10  # a short set stays in one column


@dataclass(frozen=True)
class Sheet:
    """One sheet to print. ``pupil`` is a name, "" for a line to write it on."""

    name: SheetName
    pupil: str = ""


def make_answer_sheets(heading: Heading, count: int, sheets: Sequence[Sheet], edition: Edition) -> bytes:
    """Return the sheets for a set of ``count`` questions as one PDF. A name no font can show is left to be written."""
    blank = unprintable({sheet.pupil for sheet in sheets})
    data = {
        "title": heading.title,
        "school": heading.school,
        "class": heading.class_name,
        "edition": Edition(page=edition.page).to_json() | {"foot": 0},
        "columns": _columns(count),
        "sheets": [_sheet(heading, sheet, blank) for sheet in sheets],
    }
    return typeset("answer_sheets", data)


def _sheet(heading: Heading, sheet: Sheet, blank: set[str]) -> dict[str, Any]:
    code = code_of(sheet.name)
    return {
        "paper": heading.of_paper(sheet.name.paper),
        "pupil": "" if sheet.pupil in blank else sheet.pupil,
        "code": code,
        "qr": qr_svg(code),
    }


def _columns(count: int) -> list[list[int]]:
    """The numbers of the questions in columns, filled one after the other, none longer than the first."""
    columns = -(-count // ROWS) if count > FEWEST_ROWS else 1
    columns = max(columns, 2) if count > FEWEST_ROWS else columns
    rows = -(-count // columns)
    return [list(range(start, min(start + rows, count + 1))) for start in range(1, count + 1, rows)]
