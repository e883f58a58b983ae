"""Put a PDF's many small objects, above all its tags, into one compressed stream: half the bytes, the same document.

The typesetter writes every tag of a drawing as an object of its own, uncompressed. ISO 32000-1 (PDF 1.7, on which
PDF/UA-1 stands) lets them share an object stream (7.5.7), found through a cross-reference stream (7.5.8).
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Sequence
from struct import Struct
from typing import NamedTuple

LINE = 20  # bytes of a line of the cross-reference table (7.5.4)
QUICK = 3  # level of compression: a fifth of the usual time for one part in seventy more bytes of a booklet
ENDS, STREAM_ENDS = b"\nendobj", b"endstream\nendobj"
_TABLE = re.compile(rb"xref\n0 (\d+)\n")
_TRAILER = re.compile(rb"trailer\n<</Size (\d+)(.*)>>\nstartxref\n(\d+)\n%%EOF\s*\Z", re.DOTALL)
_PLACE = Struct(">BIH")  # of an object: its kind, where, which of several


class Thing(NamedTuple):
    """An object of the file: its number, and its text from ``1 0 obj`` to ``endobj``."""

    number: int
    text: bytes


def pack(pdf: bytes) -> bytes:
    """Return ``pdf``, as the typesetter made it, in fewer bytes."""
    tail = _TRAILER.search(pdf, pdf.rindex(b"trailer\n"))
    assert tail is not None, "the typesetter writes a table and a trailer"
    kept, small = list[Thing](), list[Thing]()
    for thing in _things(pdf, int(tail[3])):
        (kept if _stays(thing.text) else small).append(thing)
    first = int(tail[1])  # number that is free
    kept.append(Thing(first, _object_stream(first, small)))
    places = [_PLACE.pack(0, 0, 0)] * (first + 2)
    for index, thing in enumerate(small):
        places[thing.number] = _PLACE.pack(2, first, index)
    at = pdf.index(b"1 0 obj")
    out = [pdf[:at]]
    for thing in kept:
        places[thing.number] = _PLACE.pack(1, at, 0)
        out += thing.text, b"\n"
        at += len(thing.text) + 1
    places[first + 1] = _PLACE.pack(1, at, 0)
    return b"".join((*out, _references(first + 1, places, tail[2]), b"\nstartxref\n%d\n%%%%EOF\n" % at))


def _things(pdf: bytes, table: int) -> Iterator[Thing]:
    """The objects in the order of the file, by its cross-reference table."""
    head = _TABLE.match(pdf, table)
    assert head is not None, "the trailer says where the table is"
    lines = (pdf[at : at + LINE] for at in range(head.end(), head.end() + int(head[1]) * LINE, LINE))
    starts = sorted((int(line[:10]), number) for number, line in enumerate(lines) if line[17] == ord("n"))
    for (start, number), (end, _) in zip(starts, [*starts[1:], (table, 0)], strict=True):
        yield Thing(number, pdf[start:end].rstrip())


def _stays(text: bytes) -> bool:
    """Whether an object is not packed: streams cannot be, and the page tree's root is read by who counts pages."""
    return text.endswith(STREAM_ENDS) or b"/Type/Pages" in text


def _object_stream(number: int, things: Sequence[Thing]) -> bytes:
    """Numbers and offsets of the objects, then the objects (7.5.7)."""
    values = [text[text.index(b"obj\n") + 4 : -len(ENDS)] for _, text in things]
    heads, at = [], 0
    for thing, value in zip(things, values, strict=True):
        heads.append(b"%d %d" % (thing.number, at))
        at += len(value) + 1
    head = b" ".join(heads) + b"\n"
    return _stream(number, b"/Type/ObjStm/N %d/First %d" % (len(things), len(head)), head + b"\n".join(values))


def _references(number: int, places: Sequence[bytes], trailer: bytes) -> bytes:
    """Where each object is: kind 1 at an offset, kind 2 in an object stream at an index, 0 nowhere (7.5.8)."""
    return _stream(number, b"/Type/XRef/Size %d/W[1 4 2]" % (number + 1) + trailer, b"".join(places))


def _stream(number: int, entries: bytes, body: bytes) -> bytes:
    packed = zlib.compress(body, QUICK)
    head = b"%d 0 obj\n<</Filter/FlateDecode/Length %d" % (number, len(packed))
    return head + entries + b">>stream\n" + packed + b"\nendstream\nendobj"
