"""Editions of a booklet: on which paper, how large, how many questions a page. All lengths are millimetres.

Page sizes: A3 and A4 by ISO 216; US Letter (8 1/2 by 11 inches) by ANSI/ASME Y14.1, size A.
"""

from __future__ import annotations

from dataclasses import dataclass

PAGES = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4), "a3": (297.0, 420.0)}
PAGE_NAMES = {"a4": "A4", "us-letter": "US Letter", "a3": "A3"}
FOOT = 9.0  # from the foot of the text to that of the page number


@dataclass(frozen=True)
class Edition:
    """``sheet`` is the width at which the sheet of a question is drawn: the scale of all its pictures."""

    page: str = "a4"
    large: bool = False
    tinted: bool = False
    a_page: int = 3

    @property
    def enlarged(self) -> float:
        """How much larger than on A4; A3 has twice its area."""
        return 2**0.5 if self.page == "a3" else 1.0

    @property
    def points(self) -> float:
        """The size of the text. 18 pt for large print is common practice, no published source."""
        return 18.0 if self.large else 10.5 * self.enlarged

    @property
    def sheet(self) -> float:
        return (46.0 if self.large else 30.0) * self.enlarged

    @property
    def margin(self) -> float:
        return (12.7 if self.page == "us-letter" else 15.0) * self.enlarged

    @property
    def numeral(self) -> float:
        """The room for a question's number at the left."""
        return (14.0 if self.large else 8.5) * self.enlarged

    @property
    def columns(self) -> int:
        """How many pictures stand beside each other, at most."""
        return 3 if self.large else 5

    @property
    def questions_a_page(self) -> int:
        return 1 if self.large else self.a_page

    @property
    def width(self) -> float:
        """Of the pictures: what margins and numeral leave."""
        return PAGES[self.page][0] - 2 * self.margin - self.numeral

    @property
    def height(self) -> float:
        """Of the text on a page."""
        return PAGES[self.page][1] - 2 * self.margin - FOOT

    def to_json(self) -> dict[str, object]:
        return {
            "page": self.page,
            "margin": self.margin,
            "foot": FOOT,
            "points": self.points,
            "numeral": self.numeral,
            "large": self.large,
        }
