"""Fields for exact numbers and points, as a teacher types them: ``3/8``, ``0.375``, ``1/2, 3/4``."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from bank.errors import TagError
from bank.services.tags import read_tags
from geometry.errors import GeometryError
from geometry.spec import number

_DECIMAL = re.compile(r"-?\d{1,9}\.\d{1,15}", re.ASCII)
_BETWEEN = re.compile(r"[,;\s]+")
LONGEST = 16_000  # characters: as many corners as an outline may have, typed as fractions


class Untruncated(forms.CharField):
    """A text that says when it is too long. Browsers cut what is pasted at ``maxlength``, and say nothing."""

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {name: value for name, value in super().widget_attrs(widget).items() if name != "maxlength"}


class NumberField(Untruncated):
    """An exact number, cleaned to the canonical string of the rational: "0.375" and "6/16" are "3/8"."""

    default_error_messages = {"required": "Type a number like 3/8 or 0.375."}

    def __init__(self, *, most: int, **kwargs: Any) -> None:
        super().__init__(max_length=60, **kwargs)
        self.most = most

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        return read_number(text, most=self.most) if text else ""


class PointField(Untruncated):
    """A point, cleaned to ``[x, y]`` as canonical strings."""

    default_error_messages = {"required": "Type two numbers, like 3/8, 3/4."}

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}), **kwargs)

    def clean(self, value: Any) -> list[str]:
        text = super().clean(value)
        return read_point(text) if text else []


class PointsField(Untruncated):
    """Points one a line, cleaned to a list of ``[x, y]``."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 4}), **kwargs)

    def clean(self, value: Any) -> list[list[str]]:
        lines = [line for line in super().clean(value).splitlines() if line.strip()]
        return [read_point(line, where=f"Line {n}: ") for n, line in enumerate(lines, 1)]


class TagsField(Untruncated):
    """Tags parted by commas, cleaned to their names; the page proposes those in its list ``known-tags``."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"autocomplete": "off", "list": "known-tags", "data-tags": True})
        super().__init__(required=False, max_length=600, widget=widget, **kwargs)

    def clean(self, value: Any) -> list[str]:
        try:
            return read_tags(super().clean(value).split(","))
        except TagError as error:
            raise ValidationError(str(error)) from None


def read_number(text: str, *, most: int = 100, where: str = "") -> str:
    """Return the canonical string of a number typed as a whole, a decimal or a fraction."""
    text = text.strip()
    try:
        value = number(Fraction(text) if _DECIMAL.fullmatch(text) else text, "The number", most=most)
    except GeometryError as error:
        sentence = (
            str(error) if "must lie" in str(error) else f"“{text[:20]}” is no number. Type one like 3/8 or 0.375."
        )
        raise ValidationError(where + sentence) from None
    return str(value)


def read_point(text: str, *, where: str = "") -> list[str]:
    """Return ``[x, y]`` from two numbers parted by a comma or a space, in brackets or not."""
    parts = [part for part in _BETWEEN.split(text.strip().strip("()[]")) if part]
    if len(parts) != 2:
        raise ValidationError(f"{where}“{text.strip()[:20]}” is no point. Type two numbers, like 3/8, 3/4.")
    return [read_number(part, where=where) for part in parts]


def show_point(point: list[str]) -> str:
    return ", ".join(point)
