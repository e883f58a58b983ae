"""The mark scheme of one paper: its key, then for each question the mistake behind each option and the unfolding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from assignments.diagnosis import label_of
from assignments.paper.booklet import Heading
from assignments.paper.drawings import Drawn, drawn, in_rows, scale
from assignments.paper.editions import Edition
from assignments.paper.shuffles import Printed
from assignments.paper.typesetting import typeset
from assignments.papers import LETTERS

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
    pictures = drawn(question)
    strip = scale([*pictures.stem, *pictures.steps], SMALL)
    return {
        "number": question.number,
        "bank": question.version.question.number,
        "key": question.key,
        "level": question.version.level,
        "tags": list(tags),
        "strip": in_rows(strip, WIDTH, 9),
        "options": [_option(pictures, own, letter) for letter, own in zip(LETTERS, question.order, strict=True)],
    }


def _option(pictures: Drawn, own: str, letter: str) -> dict[str, Any]:
    """An option with its first wrong copy ringed, and in words which mistake it stands for; the key has none."""
    (picture,) = scale([pictures.marked[own]], OPTION)
    mistakes = pictures.options.option(own).mistakes
    return picture | {
        "letter": letter,
        "is_key": not mistakes,
        "kinds": " and ".join(label_of(mistake.kind) for mistake in mistakes),
        "says": " ".join(mistake.says for mistake in mistakes),
    }
