"""What stands in the workbench's fields, as flat text: shown from a version, or changed by a row.

Posted fields and a version shown for editing have one form, ``{"folds": "2", "fold-0-how": "tray", ...}``, so
the page has one way in. Rows are numbered from 0 in the order of folding.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from bank.arranging import tokens_of
from bank.composing import outline_after
from bank.forms.rows import FoldForm, PunchForm, SheetForm
from bank.models import Question

Typed = dict[str, str]
Row = dict[str, Any]

FOLD: Row = {"how": FoldForm.TRAY, "depth": "1/2", "way": "over", "layers": "all"}
NEXT_PLACES = ("left", "bottom", "top-right", "right")
PUNCH: Row = {"shape": "triangle", "at": "1/2, 1/2", "size": "1/6", "turn": "0"}
COUNTS = {"fold": "folds", "punch": "punches"}
_DEED = re.compile(r"(add|before|insert|remove)-(fold|punch)(?:-(\d{1,2}))?", re.ASCII)


def blank_sheet() -> Typed:
    """Return a square folded twice and punched once: a whole question to change, so that all pictures show."""
    folds = [FOLD | {"place": place} for place in NEXT_PLACES[:2]]
    sheet = SheetForm.show({"kind": "square"})
    return _flat(sheet, folds, [_new_punch({"at": "13/16, 11/16"})]) | {"step": "fold-0"}


def shown(question: Question) -> Typed:
    """Return the fields that show a question's current version and what belongs to the question."""
    version = question.current
    assert version is not None, "every saved question has a version"
    spec = version.spec
    folds = [
        FoldForm.show(fold, outline_after(spec["sheet"], spec["folds"][:made]))
        for made, fold in enumerate(spec["folds"])
    ]
    flat = _flat(SheetForm.show(spec["sheet"]), folds, [PunchForm.show(punch) for punch in spec["punches"]])
    return flat | {
        "step": "fold-0",
        "tags": ", ".join(tag.name for tag in question.tags.all()),
        "note": question.note,
        "version": str(version.number),
        **{f"option-{place}": token for place, token in enumerate(tokens_of(version))},
    }


def changed(typed: Mapping[str, str], deed: str, *, place: Row | None = None) -> Typed:
    """Return the fields after a deed of a button: a row added, inserted or removed.

    A new punch is put at ``place`` ("at" and "size"), which is remembered as given, not chosen.
    """
    match = _DEED.fullmatch(deed)
    if not match:
        return dict(typed)
    new_row = _new_punch(place or {}) if match[2] == "punch" else dict(FOLD)
    return _with_rows(typed, match[1], match[2], int(match[3] or 0), new_row)


def _new_punch(place: Row) -> Row:
    row = PUNCH | place
    return row | {"given": as_given(row["at"], row["size"], row["turn"])}


def as_given(at: str, size: str, turn: str) -> str:
    """Return what remembers how a punch was put by itself: as long as it lies so, nobody has laid a hand on it."""
    return f"{at}; {size}; {turn}"


def count_rows(typed: Mapping[str, str], kind: str) -> int:
    text = typed.get(COUNTS[kind], "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 3 else 0


def _with_rows(typed: Mapping[str, str], verb: str, kind: str, place: int, new_row: Row) -> Typed:
    rows = [_row(typed, f"{kind}-{number}-") for number in range(count_rows(typed, kind))]
    if verb == "remove":
        del rows[place : place + 1]
        place = max(min(place, len(rows) - 1), 0)
    else:
        place = {"before": place, "insert": place + 1}.get(verb, len(rows))
        rows.insert(place, {"place": NEXT_PLACES[place % len(NEXT_PLACES)], **new_row})
    kept = {name: value for name, value in typed.items() if not name.startswith(f"{kind}-")}
    return kept | _numbered(kind, rows) | {"step": f"{kind}-{place}"}


def _row(typed: Mapping[str, str], prefix: str) -> Row:
    return {name.removeprefix(prefix): value for name, value in typed.items() if name.startswith(prefix)}


def _flat(sheet: Row, folds: list[Row], punches: list[Row]) -> Typed:
    named = {f"sheet-{name}": value for name, value in sheet.items()}
    return named | _numbered("fold", folds) | _numbered("punch", punches)


def _numbered(kind: str, rows: list[Row]) -> Typed:
    flat = {f"{kind}-{n}-{name}": str(value) for n, row in enumerate(rows) for name, value in row.items()}
    return {COUNTS[kind]: str(len(rows))} | flat
