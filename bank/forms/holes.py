"""A hole of a wrong picture that a teacher sets by hand: typed fields, and the hole they mean."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from accounts.wording import WordedForm
from bank.forms.fields import NumberField, PointField, show_point
from geometry.handmade import PIECE, HandHole

FINE = 1000  # places whose fractions have no larger bottom are shown as fractions, others as decimals
EXACT = 1e-8


class HoleForm(WordedForm):
    punch = forms.TypedChoiceField(coerce=int, label="Shape")
    at = PointField(label="Place")
    turn = NumberField(most=360, required=False, label="Turn")
    over = forms.BooleanField(required=False, label="Turned over")
    points = forms.CharField(required=False, max_length=20_000, widget=forms.HiddenInput)

    def __init__(self, typed: Mapping[str, str], *, prefix: str, shapes: Sequence[str]) -> None:
        super().__init__(typed, prefix=prefix)
        pieces = [(str(PIECE), "own outline")] if typed.get(f"{prefix}-points") else []
        field = self.fields["punch"]
        assert isinstance(field, forms.TypedChoiceField)  # as declared above
        field.choices = [(str(n), shape) for n, shape in enumerate(shapes)] + pieces

    def clean_points(self) -> tuple[tuple[float, float], ...]:
        try:
            return tuple((float(x), float(y)) for x, y in json.loads(self.cleaned_data["points"] or "[]"))
        except (ValueError, TypeError, RecursionError, OverflowError):
            raise ValidationError("The outline of this hole cannot be read.") from None

    def to_hole(self) -> HandHole:
        given = self.cleaned_data
        x, y = (float(Fraction(number)) for number in given["at"])
        own = given["punch"] == PIECE
        turn = float(Fraction(given["turn"] or "0"))
        return HandHole(given["punch"], (x, y), turn, given["over"], given["points"] if own else ())

    @staticmethod
    def show(hole: HandHole) -> dict[str, Any]:
        """Return the fields that show a hole; those it does not need are left out."""
        shown = {
            "punch": str(hole.punch),
            "at": show_point([_written(v) for v in hole.at]),
            "turn": _written(hole.turn),
        }
        shown |= {"over": "on"} if hole.over else {}
        return shown | ({"points": json.dumps(hole.points, separators=(",", ":"))} if hole.points else {})


def _written(value: float) -> str:
    """A number as a teacher would write it: 3/8 where it is one, else with nine decimals at most."""
    near = Fraction(value).limit_denominator(FINE)
    if abs(float(near) - value) < EXACT:
        return str(near)
    return f"{value:.9f}".rstrip("0").rstrip(".")
