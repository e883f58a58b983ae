"""Many pictures on one: strips of a question's pictures, and contact sheets of many questions."""

from __future__ import annotations

import re
from collections.abc import Sequence

from geometry.pictures.svg import Picture

GAP = 16  # pixels between pictures
NUMBER = 40  # pixels for a row's number
_SIZE = re.compile(r'<svg xmlns="[^"]*" width="([\d.]+)" height="([\d.]+)"')


def lay_out(rows: Sequence[Sequence[Picture]], title: str, *, numbered: bool = False, ground: str = "none") -> Picture:
    """The pictures of each row side by side, the rows below each other, all at their own size.

    ``numbered`` puts a row's number, from 1, at its left. ``ground`` is the colour behind everything.
    """
    left = NUMBER if numbered else 0
    placed: list[str] = []
    width = height = GAP
    for number, row in enumerate(rows, 1):
        x, tallest = left + GAP, 0.0
        if numbered:
            placed.append(f'<text x="{GAP}" y="{height + 24}" font-family="sans-serif" font-size="16">{number}</text>')
        for picture in row:
            w, h = size_of(picture)
            placed.append(_at(picture, x, height))
            x, tallest = x + round(w) + GAP, max(tallest, h)
        width, height = max(width, x), height + round(tallest) + GAP
    says = f"{len(rows)} rows of pictures."
    return Picture(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">'
        f"<title>{title}</title><desc>{says}</desc>"
        f'<rect width="{width}" height="{height}" fill="{ground}"/>{"".join(placed)}</svg>',
        title,
        says,
    )


def size_of(picture: Picture) -> tuple[float, float]:
    """The picture's own width and height in pixels."""
    found = _SIZE.match(picture.svg)
    if found is None:
        raise ValueError("not a picture of ours")
    return float(found[1]), float(found[2])


def _at(picture: Picture, x: float, y: float) -> str:
    return picture.svg.replace('<svg xmlns="http://www.w3.org/2000/svg"', f'<svg x="{x}" y="{y}"', 1)
