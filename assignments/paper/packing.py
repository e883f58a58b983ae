"""Put a PDF's many small objects, above all its tags, into one compressed stream: half the bytes, the same document.

The typesetter writes every tag of a drawing as an object of its own, uncompressed. ISO 32000-1 (PDF 1.7, on which
PDF/UA-1 stands) lets them share an object stream (7.5.7), found through a cross-reference stream (7.5.8).
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping
from typing import NamedTuple

LINE = 20  # bytes of a line of the cross-reference table (7.5.4)
_TABLE = re.compile(rb"xref\n0 (\d+)\n")
_TRAILER = re.compile(rb"trailer\n<</Size \d+(.*)>>\nstartxref\n(\d+)\n%%EOF\s*\Z", re.DOTALL)


class Thing(NamedTuple):
    """An object of the file: its number, and its text from ``1 0 obj`` to ``endobj``."""

    number: int
    text: bytes

    @property
    def stays(self) -> bool:
        """Streams cannot be packed; the root of the page tree is left to be read without unpacking."""
        return self.text.endswith(b"endstream\nendobj") or b"/Type/Pages" in self.text

    @property
    def value(self) -> bytes:
        return self.text[self.text.index(b"obj\n") + 4 : -len(b"\nendobj")]


def pack(pdf: bytes) -> bytes:
    """Return ``pdf``, as the typesetter made it, in fewer bytes."""
    tail = _TRAILER.search(pdf, pdf.rindex(b"trailer\n"))
    assert tail is not None, "the typesetter writes a table and a trailer"
    things = list(_things(pdf, int(tail[2])))
    kept = [thing for thing in things if thing.stays]
    small = [thing for thing in things if not thing.stays]
    first = max(thing.number for thing in things) + 1
    kept.append(Thing(first, _object_stream(first, small)))
    out, offsets = bytearray(pdf[: pdf.index(things[0].text)]), dict[int, int]()
    for thing in kept:
        offsets[thing.number] = len(out)
        out += thing.text + b"\n"
    start = offsets[first + 1] = len(out)
    places = {thing.number: (2, first, index) for index, thing in enumerate(small)}
    places |= {number: (1, offset, 0) for number, offset in offsets.items()}
    return bytes(out) + _references(first + 1, places, tail[1]) + f"\nstartxref\n{start}\n%%EOF\n".encode()


def _things(pdf: bytes, table: int) -> Iterator[Thing]:
    """The objects in the order of the file, by its cross-reference table."""
    head = _TABLE.match(pdf, table)
    assert head is not None, "the trailer says where the table is"
    lines = ((n, pdf[head.end() + n * LINE : head.end() + (n + 1) * LINE]) for n in range(int(head[1])))
    starts = sorted((int(line[:10]), number) for number, line in lines if line[17:18] == b"n")
    for (start, number), (end, _) in zip(starts, [*starts[1:], (table, 0)], strict=True):
        yield Thing(number, pdf[start:end].rstrip())


def _object_stream(number: int, things: list[Thing]) -> bytes:
    """Numbers and offsets of the objects, then the objects (7.5.7)."""
    values, at, heads = [thing.value for thing in things], 0, []
    for thing, value in zip(things, values, strict=True):
        heads.append(f"{thing.number} {at}")
        at += len(value) + 1
    head = " ".join(heads).encode() + b"\n"
    return _stream(number, f"/Type/ObjStm/N {len(things)}/First {len(head)}".encode(), head + b"\n".join(values))


def _references(number: int, places: Mapping[int, tuple[int, int, int]], trailer: bytes) -> bytes:
    """Where each object is: kind 1 at an offset, kind 2 in an object stream at an index, 0 nowhere (7.5.8)."""
    rows = (places.get(n, (0, 0, 0)) for n in range(number + 1))
    body = b"".join(kind.to_bytes(1) + at.to_bytes(4) + index.to_bytes(2) for kind, at, index in rows)
    return _stream(number, f"/Type/XRef/Size {number + 1}/W[1 4 2]".encode() + trailer, body)


def _stream(number: int, entries: bytes, body: bytes) -> bytes:
    packed = zlib.compress(body)
    head = f"{number} 0 obj\n<</Filter/FlateDecode/Length {len(packed)}".encode()
    return head + entries + b">>stream\n" + packed + b"\nendstream\nendobj"
