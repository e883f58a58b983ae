"""``{{ value|figure:2 }}`` and ``{{ value|signed }}``: figures as pages show them, with a minus sign and not a hyphen.

The minus sign is U+2212 (Unicode Standard, Mathematical Operators); files for spreadsheets keep the hyphen, which those
read.
"""

from __future__ import annotations

from django.template import Library
from django.template.defaultfilters import floatformat

register = Library()
NONE = "–"  # where there is no figure


@register.filter
def figure(value: float | None, places: int = 0) -> str:
    """The figure to so many places."""
    return NONE if value is None else floatformat(value, places).replace("-", "\N{MINUS SIGN}")


@register.filter
def mark(value: float) -> str:
    """A mark, with the parts that a correction for guessing and a median bring: 7, 7.5 or 7.25."""
    return figure(value, 2).rstrip("0").rstrip(".")


@register.filter
def signed(value: float, places: int = 0) -> str:
    """The same with its sign, plus or minus; what rounds to nothing has none."""
    shown = figure(value, places)
    return f"+{shown}" if value > 0 and shown.strip("0.") else shown
