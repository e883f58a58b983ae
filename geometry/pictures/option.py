"""An option: the flat sheet with its holes, and nothing else. Its bytes depend on the drawn region alone."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import shapely

from geometry.pictures.frame import Frame, frame_of
from geometry.pictures.outlines import outline_path
from geometry.pictures.svg import Picture, write_picture
from geometry.pictures.theme import Style, style
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
    look = style(theme, size)
    frame = frame_of(sheet)
    path = outline_path(frame, holes)
    marks = [sheet_mark(sheet, look)]
    if path:
        marks.append(f'<path {look.pens["hole"]} d="{path}"/>')
    return write_picture(frame, look, title, f"A sheet of paper with {count_holes(len(holes))}.", marks)


@lru_cache(maxsize=256)
def sheet_path(sheet: Sheet) -> str:
    """Path text of the flat sheet's outline."""
    frame: Frame = frame_of(sheet)
    return outline_path(frame, [shapely.Polygon(to_xy(sheet.outline))])


def sheet_mark(sheet: Sheet, look: Style) -> str:
    return f'<path {look.pens["sheet"]} d="{sheet_path(sheet)}"/>'
