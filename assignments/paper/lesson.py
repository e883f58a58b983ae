"""Lesson sheets: each question of a set to cut out, fold, punch and open with real paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from assignments.paper.booklet import Heading
from assignments.paper.drawings import drawn, in_rows, scale, shown
from assignments.paper.editions import PAGES, Edition
from assignments.paper.shuffles import Printed
from assignments.paper.typesetting import typeset
from geometry.pictures.cut_out import draw_cut_out, draw_guide
from geometry.words import describe_fold, describe_punches

CAUTION = "Punches and scissors: an adult, or supervised, by the school's risk assessment."
SMALL = 20.0  # millimetres: the width of a sheet in the strip
ROOM = 104.0  # of a page's height that the strip, the words and the caution take


def make_lesson_sheets(heading: Heading, questions: Sequence[Printed], edition: Edition) -> bytes:
    """Return a sheet to cut out and a guide for the punch for each question, as PDF."""
    plain = Edition(page=edition.page)
    data = {
        "title": heading.title,
        "school": heading.school,
        "edition": plain.to_json(),
        "caution": CAUTION,
        "questions": [_question(question, plain) for question in questions],
    }
    return typeset("lesson", data)


def _question(question: Printed, edition: Edition) -> dict[str, Any]:
    pictures = drawn(question)
    unfolding = pictures.unfolding
    cut_out = draw_cut_out(unfolding)
    sheet, guide = shown(cut_out.picture), shown(draw_guide(unfolding))
    width = _largest([sheet, guide], edition)
    (sheet, guide) = scale([sheet, guide], width)
    steps = [describe_fold(unfolding, fold) for fold in range(1, len(unfolding.spec.folds) + 1)]
    return {
        "number": question.number,
        "strip": in_rows(scale(pictures.stem, SMALL), edition.width + edition.numeral, 7),
        "sheet": sheet,
        "labels": [label._asdict() for label in cut_out.labels],
        "guide": guide,
        "steps": steps,
        "punches": describe_punches(unfolding),
        "side": int(width),
    }


def _largest(pictures: Sequence[dict[str, Any]], edition: Edition) -> float:
    """The width of a sheet, in whole millimetres, at which sheet and guide fit a page as large as they can be."""
    wide, high = PAGES[edition.page]
    room = (wide - 2 * edition.margin, high - 2 * edition.margin - ROOM)
    return float(int(min(min(room[0] / picture["wide"], room[1] / picture["high"]) for picture in pictures)))
