"""Answer sheets: who they name, and codes that an independent reader of QR symbols reads back."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from assignments.paper.answer_sheets import Sheet, make_answer_sheets
from assignments.paper.booklet import Heading
from assignments.paper.editions import Edition
from assignments.paper.sheet_codes import SheetName, code_of, sheet_coded
from assignments.paper.typesetting import count_pages
from tests.assignments.paper.material import HEADING, pixels, sizes, texts

NAMES = ("Fenna", "Zoë", "Łukasz", "Şirin", "Ольга")


def sheets(count: int = 5) -> list[Sheet]:
    return [Sheet(SheetName(1, 2, 1 + i % 2, 30 + i), NAMES[i % len(NAMES)]) for i in range(count)]


def decoded(pdf: bytes, page: int) -> str:
    """What OpenCV's decoder reads on a page; it shares nothing with the encoder."""
    grey = pixels(pdf, page, dpi=200).astype(np.uint8)
    text, *_ = cv2.QRCodeDetector().detectAndDecode(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR))
    return text


def test_the_code_on_every_sheet_is_read_back_and_names_set_paper_and_pupil():
    made = make_answer_sheets(HEADING, 20, sheets(), Edition())
    known = [sheet.name for sheet in sheets()]
    for page, sheet in enumerate(sheets()):
        assert decoded(made, page) == code_of(sheet.name)
        assert sheet_coded(decoded(made, page).lower(), known) == sheet.name
        for part in code_of(sheet.name).split("-"):
            assert part in texts(made)[page]


def test_the_symbol_is_printed_as_its_standard_asks_and_large_enough_for_a_poor_scanner():
    """ISO/IEC 18004: 4V + 17 modules a side; the level in the first two bits beside the top left finder, under the mask
    10 (01 L, 00 M, 11 Q, 10 H); four modules of quiet zone. It leaves the width of a module to the user: 0.4 mm at
    least, five dots of a scan at 300 dpi, is our choice.
    """
    dpi, least = 400, 0.4
    grey = pixels(make_answer_sheets(HEADING, 20, sheets(1), Edition()), 0, dpi=dpi).astype(np.uint8)
    _, corners, modules = cv2.QRCodeDetector().detectAndDecode(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR))
    side = len(modules)
    assert (side - 17) % 4 == 0
    dark = (modules[8, :2] < 128).astype(int)
    assert [int(bit) for bit in dark ^ [1, 0]] in ([0, 0], [1, 1], [1, 0])  # M, Q or H
    (left, top), (right, bottom) = corners[0].min(axis=0), corners[0].max(axis=0)
    module = (right - left) / side
    assert module / dpi * 25.4 >= least
    quiet = round(4 * module) - 2  # the corners are known to a dot or so
    x, y, to_x, to_y = (round(float(v)) for v in (left, top, right + 1, bottom + 1))
    around = grey[y - quiet : to_y + quiet, x - quiet : to_x + quiet].copy()
    around[quiet - 2 : -quiet + 2, quiet - 2 : -quiet + 2] = 255
    assert around.min() == 255


def test_a_code_tells_nothing_of_what_it_names_and_cannot_be_made_without_the_secret(settings):
    codes = {code_of(SheetName(1, 2, paper, pupil)) for paper in (1, 2) for pupil in range(50)}
    assert len(codes) == 100
    mine = code_of(SheetName(1, 2, 1, 3))
    settings.SECRET_KEY = "another secret that is long enough to be one"
    assert code_of(SheetName(1, 2, 1, 3)) != mine
    assert sheet_coded("", []) is None
    assert sheet_coded("CM1-AAAA-AAAA-AAAA-AAAA", [SheetName(1, 2, 1, 3)]) is None


def test_a_class_in_one_file_has_a_page_for_each_pupil_with_name_class_and_paper():
    made = make_answer_sheets(Heading("Thursday set", "Tarnlow School", 600, "6 Larch", 2), 20, sheets(), Edition())
    for place, (text, sheet) in enumerate(zip(texts(made), sheets(), strict=True)):
        assert sheet.pupil in text
        assert "6 Larch" in text
        assert f"Paper {1 + place % 2}" in text


@pytest.mark.parametrize("count", [1, 10, 11, 24, 40, 75, 100])
@pytest.mark.parametrize("page", ["a4", "us-letter"])
def test_every_question_has_its_boxes_on_the_one_page(count, page):
    made = make_answer_sheets(HEADING, count, sheets(1), Edition(page=page))
    assert len(sizes(made)) == 1 == count_pages(made)
    words = texts(made)[0].split()
    for letter in "ACDE":  # B stands in the example of a crossed box as well
        assert words.count(letter) == count
    assert [int(w) for w in words if w.isdigit() and int(w) <= count and w != "6"].count(count) == (count != 6)


def test_a_name_that_no_font_has_leaves_a_line_to_write_on_and_the_others_stay():
    unheard = "\U00012000\U00012001"  # cuneiform, which neither our fonts nor a usual machine's have
    name = SheetName(1, 2, 1, 9)
    made = make_answer_sheets(HEADING, 5, [Sheet(name, unheard), Sheet(name, "Fenna")], Edition())
    assert unheard not in texts(made)[0]
    assert "Fenna" in texts(made)[1]
