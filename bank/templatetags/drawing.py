"""``{% drawing picture %}``: a picture drawn by ``geometry``, set into a page.

The only place that marks text as safe: a picture's SVG is written by our own code from numbers, with every
word in it escaped there, and is never taken from what a person sent.
"""

from typing import Protocol

from django import template
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


class Drawn(Protocol):
    svg: str


@register.simple_tag
def drawing(picture: Drawn) -> SafeString:
    """Set the picture's SVG into the page, as one image whose title and description are its text."""
    return mark_safe(picture.svg.replace("<svg ", '<svg role="img" ', 1))  # noqa: S308
