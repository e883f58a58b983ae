"""Reading JSON text strictly: whatever JSON readers let pass or round, such as a repeated field, is refused."""

from __future__ import annotations

import json
import re
from typing import Any

import orjson

from geometry.errors import GeometryError, SpecError

LONGEST_TEXT = 60_000  # characters of JSON; the largest honest spec has some 20,000
_LONG_NUMBER = re.compile(rb"[0-9]{18}")  # a fast reader rounds whole numbers of more digits


def parse(text: str | bytes) -> Any:
    """The text as values. Raises ``SpecError`` where it is too long, no JSON, or repeats a field."""
    if len(text) > LONGEST_TEXT:
        raise SpecError(f"The spec is longer than {LONGEST_TEXT:,} characters.")
    data = _parse_plain(text)
    return _parse_strictly(text) if data is None else data


def _parse_plain(text: str | bytes) -> Any:
    """What a fast reader makes of the text; None where it would let pass or round what the strict one does not."""
    try:
        data = orjson.loads(text)
    except ValueError:
        return None
    raw = text.encode() if isinstance(text, str) else text
    if not isinstance(data, dict) or _LONG_NUMBER.search(raw):
        return None
    objects = [data, *(v for v in data.values() if isinstance(v, dict))]
    objects += [v for held in data.values() if isinstance(held, list) for v in held if isinstance(v, dict)]
    # a field for every colon: none stands twice in one object
    return data if raw.count(b":") == sum(map(len, objects)) else None


def _parse_strictly(text: str | bytes) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_no_repeats, parse_constant=_no_constant, parse_int=_whole)
    except GeometryError:
        raise
    except RecursionError:
        raise SpecError("The spec is nested too deeply.") from None
    except ValueError:  # JSON and Unicode errors are both ValueErrors
        raise SpecError("The spec is not valid JSON.") from None


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise SpecError(f"The field “{shown(twice)}” stands twice in one object.", value=twice)
    return out


def _no_constant(name: str) -> None:
    raise SpecError(f"{name} is not a number that a spec can hold.", value=name)


def _whole(digits: str) -> int:
    if len(digits) > 25:
        raise SpecError("A number has more than 24 digits.", value=digits[:30])
    return int(digits)


def shown(text: str) -> str:
    """A name from outside, short enough and safe to show."""
    return text[:40].encode("utf-8", "replace").decode()
