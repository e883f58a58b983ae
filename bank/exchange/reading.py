"""Read a file of questions strictly: what is wrong is said in a sentence, of the file or of one question in it.

Only the form is read here. Whether paper can be folded so, and which option is right, ``geometry.judging`` finds anew.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import isfinite
from typing import Any

import shapely

from accounts.names import tidy_text
from bank.errors import ExchangeError
from bank.exchange import FORMAT, MOST, VERSION
from bank.models import State
from bank.services.tags import read_tags
from geometry.mistakes import Mistake
from geometry.option_sets import LABELS, Option
from geometry.spec import Spec, read_spec

MAX_BYTES = 16_000_000
MOST_POINTS = 2_000  # of one outline
LONGEST_SENTENCE = 300
LONGEST_NOTE = 200
FARTHEST = 100.0  # sheet widths
NEEDED = {"spec", "key", "options"}
ALLOWED = NEEDED | {"number", "level", "fingerprint", "state", "tags", "note"}


@dataclass(frozen=True)
class Incoming:
    """A question as the file has it. ``wants_ready`` is what the file says; whether it may be, the checks decide."""

    spec: Spec
    options: tuple[Option, ...]
    tags: tuple[str, ...]
    note: str
    wants_ready: bool


def read_file(data: bytes) -> list[Any]:
    """Return the entries of a file, not read yet. Raises ``ExchangeError`` for what is no such file."""
    if len(data) > MAX_BYTES:
        raise ExchangeError(f"This file is larger than {MAX_BYTES:,} bytes. Share the questions out over more files.")
    tree = _parse(data)
    if not isinstance(tree, dict) or tree.get("format") != FORMAT:
        raise ExchangeError(f"This is not a file of questions: it does not begin by saying “format”: “{FORMAT}”.")
    if tree.get("version") != VERSION or isinstance(tree["version"], bool):
        raise ExchangeError(
            f"This file is of version {_shown(tree.get('version'))}; only version {VERSION} can be read."
        )
    if unknown := sorted(set(tree) - {"format", "version", "questions"}):
        raise ExchangeError(f"The file has a field “{_shown(unknown[0])}” that the format does not know.")
    entries = _listed(tree.get("questions"), "The field “questions”")
    if not entries:
        raise ExchangeError("There is no question in this file.")
    if len(entries) > MOST:
        raise ExchangeError(f"There are {len(entries):,} questions in this file; {MOST} can be read at a time.")
    return entries


def read_question(entry: Any) -> Incoming:
    """Return one question. Raises ``ExchangeError``, ``TagError`` or a ``GeometryError`` that says what is wrong."""
    _fields(entry, "The question", NEEDED, ALLOWED)
    if not isinstance(entry["spec"], dict):
        raise ExchangeError("The field “spec” must be an object with named fields.")
    spec = read_spec(entry["spec"])
    given = _listed(entry["options"], "The field “options”")
    if not 1 <= len(given) <= len(LABELS):  # a draft may have fewer than five
        raise ExchangeError(f"A question has five options at most; here are {len(given):,}.")
    options = tuple(_option(option, f"Option {LABELS[place]}") for place, option in enumerate(given))
    right = [option.label for option in options if not option.mistakes]
    if right != [entry["key"]]:
        named = _shown(entry["key"])
        without = f"option {' and '.join(right)}" if right else "no option"
        raise ExchangeError(f"The key is said to be {named}, but {without} stands without a mistake.")
    tags = [_text(tag, "A tag", 200) for tag in _listed(entry.get("tags", []), "The field “tags”")]
    state = entry.get("state", State.DRAFT)
    if state not in State.values:
        raise ExchangeError(f"The state must be one of {', '.join(State.values)}.")
    note = _text(entry.get("note", ""), "The note", LONGEST_NOTE)
    return Incoming(spec, options, tuple(read_tags(tags)), note, state == State.READY)


def number_of(entry: Any) -> int | None:
    """Return the number that a question had where it comes from, if it says so."""
    number = entry.get("number") if isinstance(entry, dict) else None
    return number if isinstance(number, int) and not isinstance(number, bool) and 0 < number < 10**9 else None


def _parse(data: bytes) -> Any:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ExchangeError("This is not a JSON file: its bytes are no UTF-8 text.") from None
    try:
        return json.loads(text, object_pairs_hook=_no_repeats, parse_constant=_no_constant, parse_int=_whole)
    except RecursionError:
        raise ExchangeError("This file is nested too deeply to be a file of questions.") from None
    except json.JSONDecodeError as error:
        says = f"This is not a JSON file: line {error.lineno}, character {error.colno} cannot be read."
        raise ExchangeError(says) from None


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):  # RFC 7493 (I-JSON), section 2.3: names within an object are unique
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ExchangeError(f"The file is not sound: the field “{_shown(twice)}” stands twice in one object.")
    return out


def _no_constant(name: str) -> None:
    raise ExchangeError(f"The file is not sound: {name} is no number in JSON.")  # RFC 8259, section 6


def _whole(digits: str) -> int:
    if len(digits) > 25:
        raise ExchangeError("The file is not sound: a number has more than 24 digits.")
    return int(digits)


def _option(data: Any, where: str) -> Option:
    _fields(data, where, {"label", "holes", "mistakes"})
    holes = _listed(data["holes"], f"{where}: the holes")
    mistakes = _listed(data["mistakes"], f"{where}: the mistakes")
    return Option(
        _text(data["label"], f"{where}: the label", 1),
        tuple(_hole(hole, f"{where}, hole {number}") for number, hole in enumerate(holes, 1)),
        tuple(_mistake(mistake, f"{where}: a mistake") for mistake in mistakes),
    )


def _hole(data: Any, where: str) -> shapely.Polygon:
    _fields(data, where, {"outline"}, {"outline", "inner"})
    rings = [data["outline"], *_listed(data.get("inner", []), f"{where}: the inner rings")]
    outer, *inner = (_ring(ring, where) for ring in rings)
    return shapely.Polygon(outer, inner)


def _ring(data: Any, where: str) -> list[tuple[float, float]]:
    points = _listed(data, f"{where}: an outline")
    if not 3 <= len(points) <= MOST_POINTS:
        raise ExchangeError(f"{where}: an outline has 3 to {MOST_POINTS:,} points, not {len(points):,}.")
    return [_point(point, where) for point in points]


def _mistake(data: Any, where: str) -> Mistake:
    _fields(data, where, {"kind", "fold", "says"}, {"kind", "fold", "says", "hole", "before", "line"})
    fold, hole, before, line = data["fold"], data.get("hole"), data.get("before", False), data.get("line")
    if not _is_whole(fold) or not (hole is None or _is_whole(hole)) or not isinstance(before, bool):
        raise ExchangeError(f"{where}: “fold” and “hole” are whole numbers, “before” is true or false.")
    ends = None
    if line is not None:
        points = [_point(point, where) for point in _listed(line, f"{where}: the line")]
        if len(points) != 2:
            raise ExchangeError(f"{where}: a line is given by two points.")
        ends = (points[0], points[1])
    kind, says = _text(data["kind"], where, 40), _text(data["says"], f"{where}: its sentence", LONGEST_SENTENCE)
    return Mistake(kind, fold, hole, says, before, ends)


def _fields(data: Any, where: str, needed: set[str], allowed: set[str] | None = None) -> None:
    if not isinstance(data, dict):
        raise ExchangeError(f"{where} must be an object with named fields.")
    if missing := sorted(needed - set(data)):
        raise ExchangeError(f"{where} lacks the field “{missing[0]}”.")
    if unknown := sorted(set(data) - (allowed or needed)):
        raise ExchangeError(f"{where} has a field “{_shown(unknown[0])}” that the format does not know.")


def _listed(data: Any, what: str) -> list[Any]:
    if not isinstance(data, list):
        raise ExchangeError(f"{what} must be a list.")
    return data


def _text(data: Any, what: str, longest: int) -> str:
    """Return a text without what cannot be seen, such as marks that turn the writing round."""
    if not isinstance(data, str) or len(data) > longest:
        raise ExchangeError(f"{what} must be a text of {longest} characters at most.")
    return tidy_text(data)


def _point(data: Any, where: str) -> tuple[float, float]:
    if not isinstance(data, list) or len(data) != 2 or not all(map(_is_number, data)):
        raise ExchangeError(f"{where}: a point is two numbers of at most {FARTHEST:g}.")
    return float(data[0]), float(data[1])


def _is_number(value: Any) -> bool:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return plain and isfinite(value) and abs(value) <= FARTHEST


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 1000


def _shown(value: Any) -> str:
    """A value from outside, short enough and safe to show."""
    return str(value)[:40].encode("utf-8", "replace").decode()
