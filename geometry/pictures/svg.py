"""A drawing as standalone SVG 1.1 text: marks in painting order, each a pen and its path.

No identifiers, classes, styles, transforms or definitions: a picture can be put into a page any number of times, under
any content security policy, and holds nothing that is not seen.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple
from xml.sax.saxutils import escape

from geometry.pictures.frame import STANDARD, Frame
from geometry.pictures.theme import Style

_FORBIDDEN = re.compile("[\\x00-\\x1f\\ud800-\\udfff\\ufffe\\uffff]")


class Picture(NamedTuple):
    """A drawing: ``svg`` is a standalone document whose title and description are the other two."""

    svg: str
    title: str
    description: str


class Drawing:
    """Marks laid down in order on one frame. What is laid later covers what was laid before."""

    def __init__(self, frame: Frame, style: Style):
        self.frame = frame
        self.style = style
        self._marks: list[str] = []

    def lay(self, pen: str, path: str) -> None:
        """Add one mark; an empty path adds nothing."""
        if path:
            self._marks.append(f'<path {self.style.pens[pen]} d="{path}"/>')

    def picture(self, title: str, description: str) -> Picture:
        return write_picture(self.frame, self.style, title, description, self._marks)


def write_picture(frame: Frame, style: Style, title: str, description: str, marks: Iterable[str]) -> Picture:
    """The picture of these marks; every picture of a size is drawn to one scale."""
    words = f"<title>{text_of(title)}</title><desc>{text_of(description)}</desc>"
    return Picture(f"{opening_tag(frame, style)}{words}{''.join(marks)}</svg>", title, description)


def opening_tag(frame: Frame, style: Style) -> str:
    scale = style.size.pixels / STANDARD
    size = f'width="{_plain(frame.width * scale)}" height="{_plain(frame.height * scale)}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{frame.view_box}">'


def _plain(number: float) -> str:
    """A number with at most three decimals."""
    return f"{number:.3f}".rstrip("0").rstrip(".")


@lru_cache(maxsize=256)
def text_of(words: str) -> str:
    """Words that XML can hold: characters it forbids go, markup is escaped."""
    return escape(_FORBIDDEN.sub("", words))
