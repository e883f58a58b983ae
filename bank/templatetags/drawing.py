"""``{% drawing picture %}``: a picture drawn by ``geometry``, set into a page.

The only place that marks text as safe: a picture's SVG is written by our own code from numbers, with every
word in it escaped there, and is never taken from what a person sent.
"""

import re
from typing import Protocol

from django.template import Library
from django.utils.safestring import SafeString, mark_safe

register = Library()


class Drawn(Protocol):
    svg: str


@register.simple_tag
def drawing(picture: Drawn) -> SafeString:
    """Set the picture's SVG into the page, as one image whose title and description are its text."""
    return mark_safe(picture.svg.replace("<svg ", '<svg role="img" ', 1))  # noqa: S308


_SIZE = re.compile(r'width="([\d.]+)" height="([\d.]+)"')
DRAWN_IN = 0.72  # of its size, so that a picture's corners stay on the page when it is turned on its corner


@register.simple_tag
def turned_drawing(picture: Drawn, degrees: float) -> SafeString:
    """Set the picture into the page turned clockwise about its middle, smaller when it is turned at all."""
    found = _SIZE.search(picture.svg)
    assert found, "every picture says how large it is"
    width, height = found[1], found[2]
    x, y = float(width) / 2, float(height) / 2
    scale = DRAWN_IN if degrees else 1
    way = f"translate({x} {y}) rotate({degrees:g}) scale({scale}) translate({-x} {-y})"
    inner = drawing(picture)
    return mark_safe(f'<svg viewBox="0 0 {width} {height}"><g transform="{way}">{inner}</g></svg>')  # noqa: S308
