"""Lists of pupils as people paste and upload them: read line by line, each bad line with its sentence.

The format is that of RFC 4180 with the liberties of everyday spreadsheets: commas, semicolons or tabs, with or
without headings, a byte order mark or a first line ``sep=;``. Two columns are used, the name and the extra
time in per cent; all others are left unread.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from accounts.errors import BadListError
from accounts.models import fold_name
from accounts.names import tidy_name, tidy_text

MAX_PUPILS = 200
MAX_LINES = 1_000  # empty ones included
MAX_LINE = 1_000  # characters
MAX_EXTRA_TIME = 300
MARKS = " \t,;"  # a line of these alone is an empty one

NO_EXTRA_TIME = ("", "none", "no", "-")
NAME_HEADINGS = {"name", "pupil", "pupil name", "pupils", "student", "first name", "forename", "display name"}
EXTRA_HEADINGS = {"extra time", "extra", "extra time per cent", "extra time percent"}


@dataclass(frozen=True)
class Row:
    """A line of the list: a pupil, or a fault that says why not. ``line`` counts from 1."""

    line: int
    name: str
    extra_time: int = 0
    fault: str = ""


@dataclass(frozen=True)
class PupilList:
    """The rows in order, and the headings of columns that are not used."""

    rows: tuple[Row, ...]
    unused: tuple[str, ...] = ()


@dataclass(frozen=True)
class Columns:
    """Where in a record the name and the extra time stand (None: nowhere), and how many cells it may have."""

    name: int
    extra: int | None
    width: int


@dataclass(frozen=True, order=True)
class Record:
    """The cells that begin on a line, or why they could not be parted."""

    line: int
    cells: tuple[str, ...]
    fault: str = ""


UNHEADED = Columns(name=0, extra=1, width=2)


def read_list(text: str) -> PupilList:
    """The pupils of a list. Raises BadListError when it holds none, or too many, or is no text."""
    lines = _lines_of(text)
    delimiter, lines = _delimiter_of(lines)
    records = sorted(r for r in _records(lines, delimiter) if r.fault or any(cell.strip(MARKS) for cell in r.cells))
    if not records:
        raise BadListError("There is no name in this list.")
    columns, unused = _columns_of(records[0].cells)
    if columns is not UNHEADED:
        del records[0]
    if not records:
        raise BadListError("This list has headings, but no pupils below them.")
    if len(records) > MAX_PUPILS:
        raise BadListError(_too_many(len(records)))
    return PupilList(tuple(_without_repeats(_read_row(record, columns) for record in records)), unused)


def read_extra_time(text: str) -> int:
    """Per cent, 0 to 300, from a cell like ``25``, ``25 %`` or nothing. Raises ValueError with a sentence."""
    typed = text.strip()
    figures = typed.removesuffix("%").strip()
    if typed.lower() in NO_EXTRA_TIME:
        return 0
    if not re.fullmatch(r"[0-9]{1,3}", figures) or int(figures) > MAX_EXTRA_TIME:
        raise ValueError(f"Extra time is a whole number of per cent from 0 to {MAX_EXTRA_TIME}, not “{_short(typed)}”.")
    return int(figures)


def _lines_of(text: str) -> list[str]:
    if "\0" in text:
        raise BadListError("This is not a text file: it holds characters that no text has (U+0000).")
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    written = sum(1 for line in lines if line.strip(MARKS))
    if written > MAX_PUPILS + 1 or len(lines) > MAX_LINES:
        raise BadListError(_too_many(max(written, len(lines))))
    return lines


def _delimiter_of(lines: list[str]) -> tuple[str, list[str]]:
    """What parts the cells: as a first line ``sep=;`` says, else what most lines hold."""
    said = re.fullmatch(r"sep=(.)", lines[0])
    if said:
        return said[1], ["", *lines[1:]]
    holding = Counter({mark: sum(mark in line for line in lines) for mark in "\t;,"})
    return holding.most_common(1)[0][0], lines


def _records(lines: list[str], delimiter: str) -> Iterator[Record]:
    """The records of RFC 4180 in these lines. After a fault, reading begins again on the next line."""
    kept = []
    for number, line in enumerate(lines, start=1):
        if len(line) > MAX_LINE:
            yield Record(number, (), f"This line has {len(line):,} characters; at most {MAX_LINE:,} are read.")
        kept.append("\n" if len(line) > MAX_LINE else line + "\n")
    start = 0
    while start < len(kept):
        reader = csv.reader(kept[start:], delimiter=delimiter, strict=True)
        done = 0
        try:
            for cells in reader:
                yield Record(start + done + 1, tuple(cells))
                done = reader.line_num
            return
        except csv.Error:
            yield Record(start + done + 1, (), 'A quotation mark (") in this line is not closed.')
            start += done + 1


def _columns_of(first: tuple[str, ...]) -> tuple[Columns, tuple[str, ...]]:
    """The columns by their headings, and the headings not used. Raises BadListError when no name is headed."""
    headings = [" ".join(re.sub(r"[^\w ]", " ", fold_name(cell)).split()) for cell in first]
    name = next((place for place, heading in enumerate(headings) if heading in NAME_HEADINGS), None)
    extra = next((place for place, heading in enumerate(headings) if heading in EXTRA_HEADINGS), None)
    if name is None and extra is None:
        return UNHEADED, ()
    if name is None:
        raise BadListError("The first line has headings, but none of them is Name.")
    unused = (cell.strip() for place, cell in enumerate(first) if place not in (name, extra))
    return Columns(name, extra, width=len(first)), tuple(_short(cell) for cell in unused if cell)


def _read_row(record: Record, columns: Columns) -> Row:
    cells = [cell.strip() for cell in record.cells]
    while cells and not cells[-1]:
        cells.pop()
    typed = cells[columns.name] if columns.name < len(cells) else ""
    try:
        if record.fault:
            raise ValueError(record.fault)
        if len(cells) > columns.width:
            raise ValueError(f"This line has {len(cells)} cells, where at most {columns.width} are expected.")
        if "\n" in typed:
            raise ValueError('The name in this line goes on over the next: a quotation mark (") lacks its pair.')
        name = tidy_name(typed)
        extra = cells[columns.extra] if columns.extra is not None and columns.extra < len(cells) else ""
        if columns is UNHEADED and re.search(r"[^\W\d_]", extra) and extra.lower() not in NO_EXTRA_TIME:
            raise ValueError(
                f"Extra time stands second, and “{_short(extra)}” is none. "
                "If it belongs to the name, write both in one cell, with a space."
            )
        return Row(record.line, name, read_extra_time(extra))
    except ValueError as fault:
        return Row(record.line, _short(tidy_text(typed)), fault=str(fault))


def _without_repeats(rows: Iterable[Row]) -> Iterator[Row]:
    """The rows, each name that stands in an earlier one marked as a fault."""
    first: dict[str, int] = {}
    for row in rows:
        earlier = first.setdefault(fold_name(row.name), row.line) if not row.fault else row.line
        if earlier == row.line:
            yield row
        else:
            yield replace(row, fault=f"The same name as in line {earlier}. Add an initial to one of them.")


def _too_many(count: int) -> str:
    return f"This list has {count:,} lines; at most {MAX_PUPILS} pupils are added at once."


def _short(text: str) -> str:
    return text if len(text) <= 30 else text[:29] + "…"
