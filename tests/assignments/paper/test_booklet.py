"""The booklet, measured and read on the page by programs that had no part in setting it."""

from __future__ import annotations

import re
from functools import cache

import pikepdf
import pytest

from assignments.paper.booklet import booklet_data, make_booklet
from assignments.paper.editions import Edition
from assignments.paper.example import example_beside
from assignments.paper.shuffles import arrange
from assignments.paper.typesetting import count_pages
from bank.models import Question, Version
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.assignments.paper.material import (
    HEADING,
    lines_across,
    middles,
    of_kind,
    opened,
    pixels,
    sizes,
    streams_of_marks,
    texts,
    versions,
)
from tests.small_school import spec_of

ORDINARY = Edition()
LARGE = Edition(large=True)


@cache
def booklet(count: int = 6, edition: Edition = ORDINARY, paper: int = 1) -> bytes:
    return make_booklet(HEADING, paper, arrange(1, paper, versions(count)), edition)


@pytest.mark.parametrize(
    ("page", "size"),
    [
        ("a4", (210, 297)),  # ISO 216
        ("a3", (297, 420)),  # ISO 216
        ("us-letter", (215.9, 279.4)),  # 8 1/2 by 11 inches: ANSI/ASME Y14.1, size A
    ],
)
@pytest.mark.parametrize("large", [False, True])
def test_every_page_has_the_size_chosen(page, size, large):
    found = sizes(booklet(2, Edition(page=page, large=large)))
    assert len(found) > 1
    for one in found:
        assert one == pytest.approx(size, abs=0.1)


@pytest.mark.parametrize("page", ["a4", "us-letter", "a3"])
def test_the_line_of_50_mm_is_50_mm_long(page):
    image = pixels(booklet(2, Edition(page=page)), 0)
    lowest = lines_across(image[-len(image) // 7 :], longer=30)
    ruler = [length for row in lowest for length in row if length < 100]  # the line at the foot is longer
    assert ruler
    assert ruler == pytest.approx([50] * len(ruler), abs=0.2)


@pytest.mark.parametrize(("edition", "least"), [(ORDINARY, 30), (Edition(page="us-letter"), 30), (Edition("a3"), 42)])
def test_options_stand_five_in_a_row_at_least_30_mm_wide(edition, least):
    rows = [row for row in lines_across(pixels(booklet(6, edition), 1), longer=29) if len(row) == 5]
    assert len(rows) > 6, "five squares have their upper and lower edges on the same rows of pixels"
    assert min(min(row) for row in rows) >= least


def test_large_print_draws_options_at_least_45_mm_wide():
    rows = [row for row in lines_across(pixels(booklet(2, LARGE), 2), longer=44) if len(row) == 3]
    assert rows
    assert min(min(row) for row in rows) >= 45


def test_every_question_and_each_of_its_letters_is_found_in_the_text():
    found = texts(booklet(7))[1:]
    numbers = [int(n) for text in found for n in re.findall(r"^(\d+)\s*$", text, re.MULTILINE)]
    assert [n for n in numbers if n <= 7] == [1, 2, 3, 4, 5, 6, 7]
    for text, questions in zip(found, (3, 3, 1), strict=True):
        for letter in "ABCDE":
            assert len(re.findall(rf"\b{letter}\b", text)) == questions
        assert len(re.findall(r"\bPunch\b", text)) == questions


@pytest.mark.parametrize("edition", [ORDINARY, LARGE, Edition(page="a3")], ids=["A4", "large print", "A3"])
def test_every_name_stands_in_the_middle_under_its_picture(edition):
    made = booklet(1, edition)
    ((block,),) = booklet_data(HEADING, 1, arrange(1, 1, versions(1)), edition)["pages"]
    page = len(sizes(made)) - 1
    for row in [*block["stem"], *block["options"]]:
        for place, picture in enumerate(row):
            middle = edition.margin + edition.numeral + (place + 0.5) * picture["wide"]
            name = picture.get("letter") or picture["caption"]
            assert middles(made, page, name) == [pytest.approx(middle, abs=0.5 * edition.enlarged)]


@pytest.mark.parametrize(
    ("edition", "pages"),
    [(ORDINARY, 1 + 7), (Edition(page="us-letter"), 1 + 7), (Edition(a_page=2), 1 + 10), (LARGE, 2 + 20)],
    ids=["three", "three on Letter", "two", "one"],
)
def test_so_many_questions_a_page_and_a_title_page(edition, pages):
    made = booklet(20, edition)
    assert len(sizes(made)) == pages == count_pages(made)


def tall_question(number: int) -> Version:
    """Twice as high as wide, as are its options."""
    tall = dict(versions(1)[0].spec) | {"sheet": {"kind": "rectangle", "width": "1", "height": "2"}}
    tall["folds"] = [{"bring": ["0", "0"], "to": ["0", "2"]}]
    tall["punches"] = [{"shape": "heart", "at": ["1/3", "5/3"], "size": "1/6", "turn": 0}]
    options = make_options(read_spec(tall), seed=1)
    return Version(
        pk=number, question=Question(pk=number), spec=tall, options=options.to_json(), fingerprint=f"{number}"
    )


def test_tall_questions_are_moved_to_the_next_page_rather_than_split():
    many = [tall_question(number) for number in range(1, 5)]
    data = booklet_data(HEADING, 1, arrange(1, 1, many), ORDINARY)
    assert [len(page) for page in data["pages"]] == [1, 1, 1, 1]
    made = make_booklet(HEADING, 1, arrange(1, 1, many), ORDINARY)
    assert len(sizes(made)) == 1 + 4


def test_a_page_cut_short_by_a_tall_question_shares_out_its_room_and_the_last_keeps_the_places():
    two, four = versions(6)[:2], versions(6)[2:]
    pages = booklet_data(HEADING, 1, arrange(1, 1, [*two, tall_question(9), *four]), ORDINARY)["pages"]
    assert [len(page) for page in pages] == [2, 2, 3]
    for page in pages:
        assert sum(block["height"] for block in page) == pytest.approx(ORDINARY.height)
    pages = booklet_data(HEADING, 1, arrange(1, 1, versions(4)), ORDINARY)["pages"]
    assert [len(page) for page in pages] == [3, 1]
    assert pages[1][0]["height"] == pytest.approx(ORDINARY.height / 3)


@pytest.mark.parametrize("page", ["a4", "us-letter", "a3"])
def test_six_folds_in_large_print_are_drawn_smaller_until_they_fit_the_page(page):
    spec = read_spec(spec_of([("0 0", "1/4 1/4")] * 1, ("disc", "3/5 3/5", "1/10"))).to_json()
    corners = [("0", "0", "1/4", "1/4"), ("1", "0", "3/4", "1/4"), ("0", "1", "1/4", "3/4"), ("1", "1", "3/4", "3/4")]
    edges = [("0", "1/2", "1/6", "1/2"), ("1", "1/2", "5/6", "1/2")]
    spec["folds"] = [{"bring": [a, b], "to": [c, d]} for a, b, c, d in [*corners, *edges]]
    options = versions(1)[0].options  # any five pictures will do here
    version = Version(pk=1, question=Question(pk=1), spec=spec, options=options, fingerprint="1")
    edition = Edition(page=page, large=True)
    data = booklet_data(HEADING, 1, arrange(1, 1, [version]), edition)
    ((block,),) = data["pages"]
    assert [len(row) for row in block["stem"]] == [3, 2, 2]
    assert block["height"] <= edition.height
    assert len(sizes(make_booklet(HEADING, 1, arrange(1, 1, [version]), edition))) <= 3


def test_large_print_is_set_in_18_points():
    """18 pt: common practice, no published source. Captions are a little smaller, headings larger."""
    with opened(booklet(2, LARGE)) as pdf:
        set_in = {
            round(float(operands[1]), 1)
            for page in pdf.pages
            for operands, operator in pikepdf.parse_content_stream(page)
            if str(operator) == "Tf"
        }
    assert 18.0 in set_in
    assert min(set_in) >= 14


def test_nothing_but_black_and_white_is_printed_and_no_bitmap():
    with opened(booklet(6, Edition(tinted=True))) as pdf:
        shades = {
            float(operand)
            for stream in streams_of_marks(pdf)
            for operands, operator in pikepdf.parse_content_stream(stream)
            if str(operator) in {"g", "G", "rg", "RG", "k", "K", "sc", "SC", "scn", "SCN"}
            for operand in operands
            if not isinstance(operand, pikepdf.Name)
        }
        assert not any(isinstance(o, pikepdf.Stream) and o.get("/Subtype") == "/Image" for o in pdf.objects)
    assert shades <= {0.0, 1.0}
    assert "tinted paper" in texts(booklet(6, Edition(tinted=True)))[0]


def test_the_title_page_has_what_a_paper_needs():
    front = texts(booklet())[0]
    for words in ("Thursday set", "Tarnlow School", "Name", "Class", "6 Larch", "Date", "10 minutes", "Worked example"):
        assert words in front
    assert "Page" not in front
    assert "1 of 3" in front


def test_it_says_where_answers_go():
    questions = arrange(1, 1, versions(2))
    (ring, _), (sheet, _) = (texts(make_booklet(HEADING, 1, questions, ORDINARY, on_sheet=on)) for on in (False, True))
    assert "ring round the letter" in ring
    assert "answer sheet" not in ring
    assert "on the answer sheet" in sheet
    assert "ring round" not in sheet


def test_the_worked_example_is_no_question_of_the_set_and_its_answer_is_right():
    first = example_beside(())
    other = example_beside({first.options.fingerprint})
    assert other.options.fingerprint != first.options.fingerprint
    for example in (first, other):
        key = example.options.option(example.options.key)
        unfolded = sorted(hole.region.area for hole in example.drawn.unfolding.holes())
        assert sorted(hole.area for hole in key.holes) == pytest.approx(unfolded)


def test_alternative_texts_tell_what_is_seen_and_never_the_key():
    with opened(booklet()) as pdf:
        alts = [str(figure.Alt) for figure in of_kind(pdf, "/Figure")]
    for version in versions(6):
        for option in version.options["options"]:
            for mistake in option["mistakes"]:
                assert not any(mistake["says"] in alt for alt in alts)
    options = [alt for alt in alts if alt.startswith("Option")]
    assert len(options) == 5 * (6 + 1)  # the worked example's are among them
    assert all(re.fullmatch(r"Option [A-E]: a sheet of paper with [a-z]+ holes?\.", alt) for alt in options)


def test_forty_questions_are_under_two_megabytes():
    assert len(booklet(40)) < 2_000_000
