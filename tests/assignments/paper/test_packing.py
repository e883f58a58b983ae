"""What is packed is the same document, read by pikepdf (qpdf), which had no part in writing it."""

from __future__ import annotations

import pikepdf

from assignments.paper import typesetting
from assignments.paper.booklet import make_booklet
from assignments.paper.editions import Edition
from assignments.paper.packing import pack
from assignments.paper.shuffles import arrange
from tests.assignments.paper.material import HEADING, opened, texts, versions


def contents(pdf: pikepdf.Pdf) -> dict[int, tuple[bytes, bytes]]:
    """Every object by its number: its text, and what a stream holds."""
    return {
        number: (thing.unparse(), thing.read_raw_bytes() if isinstance(thing, pikepdf.Stream) else b"")
        for number in range(1, len(pdf.objects))
        if not isinstance(thing := pdf.get_object(number, 0), (int, type(None)))
    }


def test_every_object_is_there_unchanged_in_fewer_bytes(monkeypatch):
    monkeypatch.setattr(typesetting, "pack", lambda pdf: pdf)
    plain = make_booklet(HEADING, 1, arrange(1, 1, versions(6)), Edition())
    packed = pack(plain)
    assert len(packed) < 0.7 * len(plain)
    with opened(plain) as before, opened(packed) as after:
        assert after.check_pdf_syntax() == []
        was, now = contents(before), contents(after)
        assert len(was) > 100
        assert {number: now[number] for number in was} == was
        assert [str(pdf.trailer.ID[0]) for pdf in (before, after)] == [str(before.trailer.ID[0])] * 2


def test_the_foot_counts_the_pages_also_where_the_title_takes_two():
    found = texts(make_booklet(HEADING, 1, arrange(1, 1, versions(2)), Edition(large=True)))
    assert [text.split("Thursday set")[-1].split() for text in found] == [[str(n), "of", "4"] for n in range(1, 5)]
