"""An option: the flat sheet with its holes, and nothing else. Its bytes depend on the drawn region alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import shapely

from geometry.pictures.frame import Frame, frame_of
from geometry.pictures.outlines import outline_path
from geometry.pictures.svg import Picture, opening_tag, text_of
from geometry.pictures.theme import style
from geometry.plane import to_xy
from geometry.spec import Sheet
from geometry.words import count_holes


def draw_option(
    sheet: Sheet,
    holes: Sequence[shapely.Polygon],
    theme: str = "screen",
    title: str = "Option",
    *,
    size: str = "normal",
) -> Picture:
    """The sheet unfolded with these holes (polygons in sheet widths, on the sheet).

    The description counts the holes, which anybody sees, and says nothing of how they came about.
    """
    blank = _blank(sheet, theme, size)
    path = outline_path(blank.frame, holes)
    says = _says(len(holes))
    cut = f'{blank.hole}{path}"/>' if path else ""
    svg = f"{blank.opening}<title>{text_of(title)}</title><desc>{says}</desc>{blank.sheet}{cut}</svg>"
    return Picture(svg, title, says)


@lru_cache(maxsize=64)
def _says(holes: int) -> str:
    return f"A sheet of paper with {count_holes(holes)}."


@dataclass(frozen=True)
class _Blank:
    """All of an option's text but its words and its holes."""

    frame: Frame
    opening: str
    sheet: str
    hole: str


@lru_cache(maxsize=256)
def _blank(sheet: Sheet, theme: str, size: str) -> _Blank:
    look = style(theme, size)
    frame = frame_of(sheet)
    outline = f'<path {look.pens["sheet"]} d="{sheet_path(sheet)}"/>'
    return _Blank(frame, opening_tag(frame, look), outline, f'<path {look.pens["hole"]} d="')


@lru_cache(maxsize=256)
def sheet_path(sheet: Sheet) -> str:
    """Path text of the flat sheet's outline."""
    frame: Frame = frame_of(sheet)
    return outline_path(frame, [shapely.Polygon(to_xy(sheet.outline))])
