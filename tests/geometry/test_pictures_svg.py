"""Every picture, whatever it shows: sound SVG 1.1 that can stand alone or in a page, in plain colours, on one scale."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lxml import etree

from geometry.pictures import SIZES, THEMES, Picture, draw_marked_option, draw_option, draw_stem, draw_steps
from geometry.pictures.contact_sheet import lay_out
from geometry.pictures.marked import Marked
from geometry.unfolding import Unfolding
from tests.geometry.gallery import GALLERY, at_random, drawn
from tests.geometry.svg_reading import SVG, read_svg

PRESENTATION = {"fill", "fill-rule", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "stroke-linejoin"}


class Mistake:
    fold, before, line = 1, False, ((0.3, 0.0), (0.3, 1.0))


class Shown:
    """An option as the drawing reads it."""

    def __init__(self, unfolding: Unfolding, *, without: int = 0):
        self.label = "B"
        self.holes = tuple(hole.region for hole in unfolding.holes())[without:]
        self.mistakes = (Mistake,) if without and unfolding.folded.creases else ()


def every_picture(unfolding: Unfolding, theme: str = "screen", size: str = "normal") -> list[Picture]:
    option: Marked = Shown(unfolding, without=1)
    return [
        *draw_stem(unfolding, theme, size=size),
        draw_option(unfolding.spec.sheet, [hole.region for hole in unfolding.holes()], theme, "Option A", size=size),
        *draw_steps(unfolding, theme, size=size),
        draw_marked_option(unfolding, option, theme, size=size),
    ]


GALLERY_PICTURES = [(name, theme) for name in GALLERY for theme in THEMES]


@pytest.mark.parametrize(("name", "theme"), GALLERY_PICTURES)
def test_holds_only_titles_and_paths_in_presentation_attributes(name, theme):
    for picture in every_picture(drawn(name), theme):
        root = read_svg(picture.svg).root
        assert [child.tag for child in root[:2]] == [f"{SVG}title", f"{SVG}desc"]
        assert root[0].text == picture.title
        assert root[1].text == picture.description
        assert set(root.attrib) == {"width", "height", "viewBox"}
        for path in root[2:]:
            assert path.tag == f"{SVG}path"
            assert set(path.attrib) <= PRESENTATION | {"d"}
        assert "<!--" not in picture.svg


@pytest.mark.parametrize("theme", THEMES)
def test_numbers_have_at_most_three_decimals(theme):
    for unfolding in at_random(6):
        for picture in every_picture(unfolding, theme):
            assert not re.search(r"\d\.\d{4,}|\d[eE][-+]?\d", re.sub(r"<(title|desc)>.*?</\1>", "", picture.svg))


@pytest.mark.parametrize("size", SIZES)
def test_nothing_reaches_out_of_the_view_box(size):
    for unfolding in [drawn(name) for name in GALLERY] + at_random(8):
        for picture in every_picture(unfolding, size=size):
            read = read_svg(picture.svg)
            x, y, width, height = read.view_box
            for mark in read.marks:
                for stroke in mark.strokes:
                    assert stroke.units[:, 0].min() >= x
                    assert stroke.units[:, 1].min() >= y
                    assert stroke.units[:, 0].max() <= x + width
                    assert stroke.units[:, 1].max() <= y + height


@pytest.mark.parametrize("name", GALLERY)
def test_all_pictures_of_a_question_share_one_scale_and_place_for_the_sheet(name):
    read = [read_svg(picture.svg) for picture in every_picture(drawn(name))]
    scales = {round(float(r.root.get("width")) / r.view_box[2], 9) for r in read}
    assert len(scales) == 1
    flat = [r.marks[0].attributes | {"d": r.root[2].get("d")} for r in (read[-1], read[len(read) // 2 - 1])]
    assert all(mark["d"] for mark in flat)
    assert len({r.view_box for r in read if r.marks[0].fill == "none"}) <= 1


def test_print_is_black_and_white_only():
    for unfolding in [drawn(name) for name in GALLERY]:
        for picture in every_picture(unfolding, "print"):
            assert set(re.findall(r"#[0-9A-Fa-f]{3,8}", picture.svg)) <= {"#000000", "#FFFFFF"}


@pytest.mark.parametrize("theme", THEMES)
def test_colours_are_the_theme_s_own(theme):
    own = {value for value in vars(THEMES[theme]).values() if isinstance(value, str)}
    for picture in every_picture(drawn("flap"), theme):
        assert set(re.findall(r"#[0-9A-Fa-f]{3,8}", picture.svg)) <= own


def test_an_unknown_theme_or_size_is_refused_by_name():
    with pytest.raises(ValueError, match="There is no theme “sepia”; there are screen, print, contrast"):
        draw_stem(drawn("half"), "sepia")
    with pytest.raises(ValueError, match="There is no size “huge”; there are thumb, small, normal, large"):
        draw_stem(drawn("half"), size="huge")


def test_hostile_words_stay_words():
    title = "</title><script>alert(1)</script>\x00\x08\ud800 & “ok”"
    picture = draw_option(drawn("half").spec.sheet, [], title=title)
    root = etree.fromstring(picture.svg.encode())
    assert root[0].text == "</title><script>alert(1)</script> & “ok”"
    assert len(root) == 3


def test_a_contact_sheet_holds_every_picture_at_its_own_size():
    rows = [draw_stem(drawn(name)) for name in ("half", "three")]
    sheet = etree.fromstring(lay_out(rows, "Two questions", numbered=True).svg.encode())
    inner = sheet.findall(f"{SVG}svg")
    assert [(i.get("width"), i.get("height")) for i in inner] == [("240", "240")] * 6
    places = [(float(i.get("x")), float(i.get("y"))) for i in inner]
    assert len(set(places)) == 6
    assert [t.text for t in sheet.findall(f"{SVG}text")] == ["1", "2"]


def dtd() -> etree.DTD:
    """The DTD of SVG 1.1, second edition (W3C, 16 August 2011), where Debian's w3c-sgml-lib has put it."""
    for root in ("/usr/share/xml/w3c-sgml-lib", "/usr/share/xml"):
        for path in sorted(Path(root).rglob("svg11.dtd")) if Path(root).is_dir() else ():
            return etree.DTD(str(path))
    pytest.skip("the SVG 1.1 DTD is not on this machine (apt install w3c-sgml-lib)")


@pytest.mark.parametrize("theme", THEMES)
def test_valid_by_the_dtd_of_svg_1_1(theme):
    rules = dtd()
    for name in GALLERY:
        for picture in every_picture(drawn(name), theme):
            root = etree.fromstring(picture.svg.encode())
            assert rules.validate(root), rules.error_log.last_error
