"""The mark scheme of one paper: its key, then for each question the mistake behind each option and the unfolding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from assignments.diagnosis import label_of
from assignments.paper.booklet import Heading
from assignments.paper.drawings import PRINT, in_rows, scale, shown, stem_of, unfolded
from assignments.paper.editions import Edition
from assignments.paper.shuffles import Printed
from assignments.paper.typesetting import typeset
from assignments.papers import LETTERS
from geometry.option_sets import Option
from geometry.pictures import draw_marked_option, draw_steps
from geometry.unfolding import Unfolding

SMALL = 17.0  # millimetres: the width of a sheet in the strip
OPTION = 21.0  # and among the options
WIDTH = Edition().width + Edition().numeral


def make_mark_scheme(
    heading: Heading, paper: int, questions: Sequence[Printed], tags: Mapping[int, Sequence[str]], edition: Edition
) -> bytes:
    """Return the mark scheme as PDF; ``tags`` are names by a question's primary key."""
    data = {
        "title": heading.title,
        "paper": heading.of_paper(paper),
        "school": heading.school,
        "edition": Edition(page=edition.page).to_json(),
        "key": [{"number": question.number, "letter": question.key} for question in questions],
        "questions": [_question(question, tags.get(question.version.question_id, ())) for question in questions],
    }
    return typeset("mark_scheme", data)


def _question(question: Printed, tags: Sequence[str]) -> dict[str, Any]:
    unfolding, options = unfolded(question)
    return {
        "number": question.number,
        "bank": question.version.question.number,
        "key": question.key,
        "level": question.version.level,
        "tags": list(tags),
        "strip": _strip([*stem_of(unfolding), *_steps(unfolding)]),
        "options": [
            _option(unfolding, options.option(own), letter) for letter, own in zip(LETTERS, question.order, strict=True)
        ],
    }


def _strip(pictures: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    return in_rows(scale(pictures, SMALL), WIDTH, 9)


def _steps(unfolding: Unfolding) -> list[dict[str, Any]]:
    """The unfolding: the punched sheet is in the stem already, so from the first opening on."""
    openings = range(len(unfolding.spec.folds), 0, -1)
    pictures = draw_steps(unfolding, theme=PRINT)[1:]
    return [
        shown(picture) | {"caption": f"Fold {fold} opened"} for fold, picture in zip(openings, pictures, strict=True)
    ]


def _option(unfolding: Unfolding, option: Option, letter: str) -> dict[str, Any]:
    """An option with its first wrong copy ringed, and in words which mistake it stands for; the key has none."""
    (picture,) = scale([shown(draw_marked_option(unfolding, option, theme=PRINT))], OPTION)
    return picture | {
        "letter": letter,
        "is_key": not option.mistakes,
        "kinds": " and ".join(label_of(mistake.kind) for mistake in option.mistakes),
        "says": " ".join(mistake.says for mistake in option.mistakes),
    }
