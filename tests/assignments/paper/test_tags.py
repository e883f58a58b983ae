"""PDF/UA-1, as far as a machine can tell: by an independent checker (the library ``page``), and each test after it by
the clause of ISO 14289-1:2014 that it names.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from io import BytesIO
from itertools import pairwise

import page as checker
import pikepdf
import pytest

from assignments.paper.answer_sheets import Sheet, make_answer_sheets
from assignments.paper.booklet import make_booklet
from assignments.paper.editions import Edition
from assignments.paper.lesson import make_lesson_sheets
from assignments.paper.mark_scheme import make_mark_scheme
from assignments.paper.sheet_codes import SheetName
from assignments.paper.shuffles import arrange
from tests.assignments.paper.material import HEADING, elements, of_kind, opened, versions

PAINTING = {"f", "F", "f*", "S", "s", "B", "B*", "b", "b*", "Tj", "TJ", "'", '"', "Do", "sh"}
MADE: dict[str, Callable[[], bytes]] = {
    "booklet": lambda: make_booklet(HEADING, 1, arrange(1, 1, versions(6)), Edition()),
    "large print": lambda: make_booklet(HEADING, 1, arrange(1, 1, versions(2)), Edition(large=True)),
    "Letter": lambda: make_booklet(HEADING, 1, arrange(1, 1, versions(2)), Edition(page="us-letter", tinted=True)),
    "answer sheets": lambda: make_answer_sheets(HEADING, 24, [Sheet(SheetName(1, 2, 1, 3), "Fenna")], Edition()),
    "mark scheme": lambda: make_mark_scheme(HEADING, 2, arrange(1, 2, versions(6)), {1: ["first go"]}, Edition()),
    "lesson sheets": lambda: make_lesson_sheets(HEADING, arrange(1, 1, versions(3)), Edition()),
}


@pytest.fixture(scope="module", params=list(MADE))
def made(request):
    return MADE[request.param]()


@pytest.fixture(scope="module")
def pdf(made):
    with opened(made) as read:
        yield read


def broken_rules(pdf: bytes) -> list[str]:
    report = checker.validate_pdf_bytes(pdf, profile="ua-1")
    assert report.rules.total > 100
    return [f"{failure.rule_id}: {failure.message}" for failure in report.failures]


def test_an_independent_checker_finds_nothing(made):
    assert broken_rules(made) == []


def test_the_checker_finds_a_figure_without_its_text(made):
    with opened(made) as pdf:
        del of_kind(pdf, "/Figure")[0].Alt
        spoilt = BytesIO()
        pdf.save(spoilt)
    assert broken_rules(spoilt.getvalue())


def test_a_table_has_a_heading_for_each_column(pdf):
    """Clause 7.5: tables have headers."""
    assert len(of_kind(pdf, "/TH")) == len(of_kind(pdf, "/TD"))


def test_it_says_that_it_is_pdf_ua_1(pdf):
    """Clause 5: the identifier of the version in the metadata."""
    assert re.search(rb"pdfuaid:part>\s*1\s*<", pdf.Root.Metadata.read_bytes())


def test_it_is_tagged_and_its_tags_are_not_suspect(pdf):
    """Clause 7.1: MarkInfo with Marked true, no Suspects; a structure tree."""
    assert pdf.Root.MarkInfo.Marked is True
    assert pdf.Root.MarkInfo.get("/Suspects", False) is False
    assert len(list(elements(pdf))) > 10


def test_its_title_is_there_and_shown(pdf):
    """Clause 7.1: dc:title in the metadata, and DisplayDocTitle."""
    assert re.search(rb"<dc:title>.*Thursday set", pdf.Root.Metadata.read_bytes(), re.DOTALL)
    assert pdf.Root.ViewerPreferences.DisplayDocTitle is True


def test_its_language_is_said(pdf):
    """Clause 7.2: the natural language of the text."""
    assert str(pdf.Root.Lang).lower() == "en-gb"


def test_whatever_is_painted_is_tagged_or_an_artifact(pdf):
    """Clause 7.1: content is marked as an artifact, or tagged as real content."""
    for page in pdf.pages:
        depth, painted = 0, 0
        for _, operator in pikepdf.parse_content_stream(page):
            depth += {"BDC": 1, "BMC": 1, "EMC": -1}.get(str(operator), 0)
            if str(operator) in PAINTING:
                painted += 1
                assert depth > 0
        assert painted


def test_every_figure_has_an_alternative_text(pdf):
    """Clause 7.3: figures have alternative or replacement text."""
    figures = of_kind(pdf, "/Figure")
    assert figures
    assert all(len(str(figure.get("/Alt", figure.get("/ActualText", "")))) > 5 for figure in figures)


def test_headings_begin_at_the_first_level_and_skip_none(pdf):
    """Clause 7.4.2: no level of heading is left out on the way down."""
    levels = [int(str(e.S)[2:]) for e in elements(pdf) if re.fullmatch(r"/H[1-6]", str(e.S))]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_font_is_in_the_file_and_can_be_read_as_unicode(pdf):
    """Clauses 7.21.4.1 (embedding) and 7.21.7 (mapping to Unicode)."""
    fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/Font"]
    descriptors = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
    assert descriptors
    assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(d.keys()) for d in descriptors)
    whole = [font for font in fonts if font.get("/Subtype") in ("/Type0", "/TrueType", "/Type1")]
    assert whole
    assert all("/ToUnicode" in font for font in whole)


def test_nothing_is_locked_for_assistive_technology(pdf):
    """Clause 7.16: an encrypted file lets assistive technology at its text; ours are not encrypted."""
    assert not pdf.is_encrypted
