"""JSON Lines in, JSON Lines out: one answer for each line, whatever the line holds."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from typing import Any, BinaryIO

import orjson

from geometry.errors import GeometryError

LONGEST_LINE = 1_000_000  # bytes; the rest of a longer line is skipped, not kept


def answer_lines(answer: Callable[[bytes], dict[str, Any]], source: BinaryIO, target: BinaryIO) -> int:
    """Write ``answer(line)`` for every line of ``source``; a line that cannot be answered gets ``ok: false``."""
    for line in lines_of(source):
        try:
            out = {"ok": True} | answer(line)
        except GeometryError as error:
            out = {"ok": False, "fold": error.fold, "punch": error.punch, "error": str(error)}
        target.write(orjson.dumps(out, option=orjson.OPT_APPEND_NEWLINE | orjson.OPT_SERIALIZE_NUMPY))
    target.flush()
    return 0


def lines_of(source: BinaryIO) -> Iterator[bytes]:
    """The lines without their ends, blank ones too, so that answers stand where specs stood. Overlong ones are cut.

    On a terminal a bar tells how many have been read, once that takes more than a second.
    """
    if not sys.stderr.isatty():
        return _lines(source)
    from tqdm import tqdm

    return iter(tqdm(_lines(source), unit=" specs", file=sys.stderr, delay=1))


def _lines(source: BinaryIO) -> Iterator[bytes]:
    while line := source.readline(LONGEST_LINE):
        if not line.endswith(b"\n"):
            while (rest := source.readline(LONGEST_LINE)) and not rest.endswith(b"\n"):
                pass
        yield line.strip()
