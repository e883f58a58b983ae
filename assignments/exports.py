"""Results as CSV by RFC 4180: the columns, their meaning, and cells that no spreadsheet takes for a formula.

Pure: rows of plain values in, lines of text out, one at a time, so that an export needs no more memory than a row.
Columns are only ever added, at the end.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, tzinfo
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from assignments.diagnosis import count_mistakes, find_habit
from assignments.papers import places
from assignments.queries import ended_by_adult

if TYPE_CHECKING:
    from assignments.mark_book import MarkBook
    from assignments.marking import Mark
    from assignments.models import Sitting
    from assignments.results import Row
    from assignments.version_figures import VersionFigures
    from bank.models import Version

ANSWER_COLUMNS: Mapping[str, str] = {
    "class": "name of the class",
    "set": "title of the set when it was assigned",
    "assignment": "number of the assignment; the same in all exports",
    "pupil_id": "number of the pupil; the same in all exports",
    "pupil": "name of the pupil; empty if names were left out",
    "position": "number of the question in the set",
    "place": "number under which this pupil saw it",
    "question": "number of the question in the bank",
    "version": "version of the question",
    "outcome": "right, wrong, unanswered, or dropped where the question is left out of the marks",
    "choice": "letter of the option chosen, as the version has it; empty if unanswered",
    "letter": "letter under which this pupil saw that option",
    "key": "letter of the right option, as the version has it",
    "mistakes": "kinds of mistake behind a wrong choice, separated by spaces",
    "first_wrong_fold": "number of the fold whose opening goes wrong first; empty if none does",
    "late_choice": "letter of a choice that came after the deadline; it does not count",
    "changes": "how often the pupil changed the choice",
    "flagged": "1 if marked to look at again, else 0",
    "seconds": "time spent on the question, as far as the choices tell",
    "chosen_at": "when the choice that counts was received, ISO 8601 with offset",
    "accepts": "letters that count as right, as the version has them: the key, or as was ruled; empty if dropped",
    "on_paper": "1 if sat on paper and typed in by an adult, else 0",
    "struck": "letters of options the pupil ruled out, as the version has them",
    "paper": "which of two papers the pupil had; 1 where all had the same questions",
}
SITTING_COLUMNS: Mapping[str, str] = {
    "class": "name of the class",
    "set": "title of the set when it was assigned",
    "assignment": "number of the assignment; the same in all exports",
    "pupil_id": "number of the pupil; the same in all exports",
    "pupil": "name of the pupil; empty if names were left out",
    "started_at": "ISO 8601 with offset",
    "deadline": "when the time was up, extra time included, ISO 8601 with offset",
    "ended_at": "when the sitting ended, ISO 8601 with offset; empty while it runs",
    "ended_by": "pupil, teacher, time, or empty while it runs",
    "allowance_seconds": "time allowed, extra time included",
    "extra_percent": "extra time in per cent",
    "questions": "how many questions were asked",
    "right": "how many were answered rightly",
    "wrong": "how many were answered wrongly",
    "unanswered": "how many were left out",
    "late": "how many have a choice that came after the deadline",
    "dropped": "how many do not count, since a ruling leaves them out of the marks",
    "corrected": "the mark corrected for guessing: right - wrong / 4",
    "on_paper": "1 if sat on paper and typed in by an adult, else 0",
    "paper": "which of two papers the pupil had; 1 where all had the same questions",
}
ITEM_COLUMNS: Mapping[str, str] = {
    "question": "number of the question in the bank",
    "version": "version of the question",
    "level": "level of difficulty, 1 to 5",
    "predicted_facility": "facility its level was made from, 0 to 1",
    "sittings": "how many sittings the figures come from; below 30 they move a lot from class to class",
    "facility": "share of sittings that were right",
    "item_rest": "corrected item-total correlation, -1 to 1, within sets; empty if all or none were right",
    "upper_lower": "share right among the upper 27 % less that among the lower 27 %",
    "distractor_efficiency": "share of wrong options that at least 5 % chose",
    **{f"chosen_{letter}": f"how many chose {letter.upper()}, as the version has it" for letter in "abcde"},
    **{f"mean_{letter}": f"mean share of the set right of those who chose {letter.upper()}" for letter in "abcde"},
    "unanswered": "how many left it out",
    "accepts": "letters that count as right",
    "rasch": "Rasch difficulty in logits, from the set most sat; empty below 30 sittings",
    "rasch_error": "its standard error",
}
MISTAKE_COLUMNS: Mapping[str, str] = {
    "class": "name of the class",
    "set": "title of the set when it was assigned",
    "assignment": "number of the assignment; the same in all exports",
    "pupil_id": "number of the pupil; the same in all exports",
    "pupil": "name of the pupil; empty if names were left out",
    "mistake": "kind of mistake",
    "label": "its name for teachers",
    "chosen": "how many of the pupil's choices stand for it",
    "answers": "how many questions of the set the pupil answered; below 10 they are too few to judge",
    "likely": "how likely it is a habit of the pupil's, 0 to 1, from this set alone; a place to look, no finding",
}
# OWASP, "CSV Injection": a cell that begins with one of = + - @ tab CR LF, or with a full-width = + - @, may be
# run as a formula. NUL is added from ASVS 5.0.0, 1.2.10. Where a spreadsheet parts cells at another sign than the
# comma, a new cell may begin in the midst of ours; so each sign that may part cells is looked behind as well.
END = "\r\n"
BLOCK = 500  # lines: some 60 kB
FORMULA_START = re.compile("(^|[,;|\t\r\n])( *)(?=[-=+@\t\r\n\0＝＋－＠])")


def csv_lines(columns: Iterable[str], rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    """Yield the header and then each row as a line that ends in CR LF."""
    yield from row_lines([list(columns)])
    yield from row_lines(rows)


def row_lines(rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    """Yield each row as a line: text in quotation marks, figures without."""
    return (_row_line(row) + END for row in rows)


def in_blocks(lines: Iterable[str]) -> Iterator[str]:
    """Yield the lines a few hundred at a time: a server sends off every piece it is given, however small."""
    rest = iter(lines)
    while block := "".join(islice(rest, BLOCK)):
        yield block


def _row_line(row: Iterable[Any]) -> str:
    return ",".join(_written(cell) if isinstance(cell, str) else str(cell) for cell in row)


def safe_cell(cell: Any) -> Any:
    """Return text with an apostrophe before all that a spreadsheet could take for a formula; figures stay figures."""
    return _safe_text(cell) if isinstance(cell, str) else cell


def _safe_text(text: str) -> str:
    return FORMULA_START.sub(r"\1\2'", text)


@lru_cache(maxsize=512)  # letters, kinds of mistakes and the names of a class come again and again
def _written(text: str) -> str:
    """Text as it stands in a line: harmless, in quotation marks, and those within doubled (RFC 4180, 2.7)."""
    return '"' + _safe_text(text).replace('"', '""') + '"'


def iso(at: datetime | None, zone: tzinfo) -> str:
    """Write a moment by the school's clock, to the second, with its offset; "" for none. ``at`` is in UTC."""
    if at is None:
        return ""
    minute, offset = _minute(zone, at.year, at.month, at.day, at.hour, at.minute)
    return f"{minute}:{at.second:02}{offset}"


@lru_cache(maxsize=512)  # a class answers in the same minutes; ``isoformat`` would be a fifth of an export's time
def _minute(zone: tzinfo, year: int, month: int, day: int, hour: int, minute: int) -> tuple[str, str]:
    """A minute of UTC as the school's clock shows it, "2026-05-14T13:00", and the offset behind its seconds."""
    shown = datetime(year, month, day, hour, minute, tzinfo=UTC).astimezone(zone).isoformat(timespec="seconds")
    return shown[:16], shown[19:]


def answer_lines(book: MarkBook, zone: tzinfo, *, with_names: bool) -> Iterator[str]:
    """Yield a line of ``ANSWER_COLUMNS`` for every question of every sitting, unanswered ones too.

    There may be half a million, so each is written here in one go, just as ``row_lines`` would write it.
    """
    text = _written
    told: dict[tuple[int, str], tuple[str, str, str]] = {}  # what is alike for all who chose the same
    for row in book.sat:
        whose = _row_line(_whose(book, row, with_names=with_names))
        on_paper, paper = int(row.sitting.is_on_paper), row.paper or 1
        shown = {place.question: place for place in places(row.sitting.paper)}
        for mark in row.marks.each:
            asked, _, standing = mark
            place, choice = shown[asked.question], standing.choice
            alike = told.get((asked.question, choice))
            if alike is None:
                alike = told[asked.question, choice] = _told(mark, *book.numbers[asked.question])
            chosen, behind, accepts = alike
            at = iso(standing.chosen_at, zone)
            yield (
                f"{whose},{asked.position},{place.number},{chosen},{text(place.shown(choice))},{behind},"
                f"{text(standing.late_choice)},{standing.changes},{standing.is_flagged:d},{standing.seconds:.1f},"
                f'"{at}",{accepts},{on_paper},{text(standing.struck)},{paper}{END}'
            )


def _told(mark: Mark, number: int, version: int) -> tuple[str, str, str]:
    """Question, outcome and choice, then the key and what the choice stands for, then what counts as right, as written.

    Openings run from the last fold to the first, so that the highest fold of the mistakes goes wrong first.
    """
    kinds = " ".join(sorted({mistake.kind for mistake in mark.mistakes}))
    fold = max((mistake.fold for mistake in mark.mistakes), default="")
    return (
        _row_line([number, version, mark.outcome.value, mark.choice]),
        _row_line([mark.asked.key, kinds, fold]),
        _row_line([mark.asked.accepts]),
    )


def _ended_by(sitting: Sitting, by_adult: Callable[[Sitting], bool]) -> str:
    if sitting.was_handed_in:
        return "pupil"
    return "teacher" if by_adult(sitting) else "time"


def sitting_rows(book: MarkBook, zone: tzinfo, at: datetime, *, with_names: bool) -> Iterator[list[Any]]:
    """Yield a row of ``SITTING_COLUMNS`` for every sitting, as it stands at ``at``."""
    by_adult = ended_by_adult(book.assignment)
    for row in book.sat:
        sitting, marks = row.sitting, row.marks
        ended = sitting.ended_at(at)
        yield [
            *_whose(book, row, with_names=with_names),
            iso(sitting.started_at, zone),
            iso(sitting.deadline, zone),
            iso(ended, zone),
            "" if ended is None else _ended_by(sitting, by_adult),
            sitting.allowance,
            sitting.extra_percent,
            len(marks.each),
            marks.right,
            marks.wrong,
            marks.unanswered,
            marks.late,
            len(marks.each) - marks.asked,
            marks.corrected,
            int(sitting.is_on_paper),
            row.paper or 1,
        ]


def item_rows(found: Iterable[tuple[Version, VersionFigures]]) -> Iterator[list[Any]]:
    """Yield a row of ``ITEM_COLUMNS`` for every version sat."""
    for version, figures in found:
        item, scaled = figures.item, figures.scaled
        yield [
            version.question.number,
            version.number,
            version.level,
            version.difficulty.get("facility", ""),
            figures.sittings,
            round(item.facility, 4),
            _figure(item.item_rest),
            round(item.upper_lower, 4),
            round(figures.efficiency, 4),
            *(option.chosen for option in figures.options),
            *(_figure(option.mean_mark) for option in figures.options),
            figures.unanswered,
            figures.accepts,
            _figure(scaled.difficulty if scaled else None),
            _figure(scaled.error if scaled else None),
        ]


def mistake_rows(book: MarkBook, *, with_names: bool) -> Iterator[list[Any]]:
    """Yield a row of ``MISTAKE_COLUMNS`` for every kind of mistake behind a pupil's choices."""
    for row in book.sat:
        belief = find_habit(row.pupil, [row.marks]).belief
        for count in count_mistakes([(row.pupil, row.marks)]):
            yield [
                *_whose(book, row, with_names=with_names),
                count.kind,
                count.label,
                count.count,
                belief.answers,
                round(belief.habits.get(count.kind, 0.0), 3),
            ]


def _figure(value: float | None) -> float | str:
    return "" if value is None else round(value, 4)


def _whose(book: MarkBook, row: Row, *, with_names: bool) -> list[Any]:
    assignment = book.assignment
    name = row.pupil.name if with_names else ""
    return [assignment.school_class.name, assignment.title, assignment.pk, row.pupil.pk, name]
