"""The rows of the workbench: the sheet, a fold, a punch. Each turns typed fields into a part of a spec's JSON."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.wording import WordedForm
from bank.forms.fields import NumberField, PointField, PointsField, show_point
from bank.tray import DEPTHS, PLACES, Outline, crease_from_tray, find_in_tray
from geometry.shapes import SHAPES

SHEETS = {
    "square": "Square",
    "rectangle": "Rectangle",
    "triangle": "Triangle",
    "hexagon": "Hexagon",
    "disc": "Disc",
    "polygon": "Polygon",
}
MOST_LAYERS = 16


class RowForm(WordedForm):
    """One row; what is wrong in it is told at one place of the page."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if not field.widget.use_fieldset:
                field.widget.attrs["aria-describedby"] = f"says-{self.prefix}"

    @property
    def is_untouched(self) -> bool:
        """True while nothing is typed of what was just chosen: what is lacking is then asked for, not at fault."""
        raise NotImplementedError


class SheetForm(RowForm):
    kind = forms.ChoiceField(choices=list(SHEETS.items()), label="Sheet")
    width = NumberField(most=10, required=False, label="Width")
    height = NumberField(most=10, required=False, label="Height")
    points = PointsField(required=False, label="Corners, one a line")

    _OWN = {"rectangle": ("width", "height"), "polygon": ("points",)}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        _forgive(self, set(_UNTYPED) - set(self._OWN.get(given.get("kind", ""), ())))
        return given

    @property
    def is_untouched(self) -> bool:
        return self["kind"].value() == "polygon" and not self["points"].value()

    def to_json(self) -> dict[str, Any]:
        kind, given = self.cleaned_data["kind"], self.cleaned_data
        return {"kind": kind} | {name: given[name] or _UNTYPED[name] for name in self._OWN.get(kind, ())}

    @staticmethod
    def show(sheet: dict[str, Any]) -> dict[str, Any]:
        """Return the initial data that shows a sheet's JSON."""
        points = "\n".join(map(show_point, sheet.get("points", [])))
        return {"width": "1", "height": "1", **sheet, "points": points}


def _forgive(form: forms.Form, unused: set[str]) -> None:
    """Drop the errors of fields that are folded away: nobody could see what to mend."""
    for name in unused:
        form.errors.pop(name, None)


_UNTYPED: dict[str, Any] = {"width": "1", "height": "1", "points": []}


class FoldForm(RowForm):
    """A fold, by the tray, by bringing a point to a point, or by a crease through two points."""

    TRAY, BRING, CREASE = "tray", "bring", "crease"
    how = forms.ChoiceField(
        choices=[(TRAY, "A side or corner"), (BRING, "A point to a point"), (CREASE, "Along a line")],
        widget=forms.RadioSelect,
    )
    place = forms.ChoiceField(choices=list(PLACES.items()), required=False, widget=forms.RadioSelect)
    depth = forms.ChoiceField(choices=list(DEPTHS.items()), required=False, widget=forms.RadioSelect)
    bring = PointField(required=False, label="Bring")
    to = PointField(required=False, label="to")
    first = PointField(required=False, label="Crease from")
    second = PointField(required=False, label="to")
    moves = PointField(required=False, label="The side with this point moves")
    way = forms.ChoiceField(choices=[("over", "Over"), ("behind", "Behind")], widget=forms.RadioSelect)
    layers = forms.TypedChoiceField(
        choices=[
            ("all", "All layers"),
            ("1", "One layer only"),
        ]  # the top ones, or those at the back when it goes behind
        + [(str(n), f"{n} layers") for n in range(2, MOST_LAYERS + 1)],
        coerce=lambda value: value if value == "all" else int(value),
    )

    _NEEDED = {TRAY: ("place", "depth"), BRING: ("bring", "to"), CREASE: ("first", "second", "moves")}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        needed = self._NEEDED.get(given.get("how", ""), ())
        _forgive(self, {name for names in self._NEEDED.values() for name in names} - set(needed))
        if not self.errors.keys() & set(needed) and not all(given.get(name) for name in needed):
            raise forms.ValidationError(_LACKING[given["how"]])
        return given

    @property
    def is_untouched(self) -> bool:
        needed = self._NEEDED.get(self["how"].value() or "", ())
        return bool(needed) and not any(self[name].value() for name in needed)

    def to_json(self, outline: Outline) -> dict[str, Any]:
        """Return the fold's JSON, for paper that now lies as ``outline``."""
        given = self.cleaned_data
        if given["how"] == self.TRAY:
            crease = crease_from_tray(given["place"], given["depth"], outline)
        elif given["how"] == self.BRING:
            crease = {"bring": given["bring"], "to": given["to"]}
        else:
            crease = {"crease": [given["first"], given["second"]], "moves": given["moves"]}
        return crease | {"way": given["way"], "layers": given["layers"]}

    @classmethod
    def show(cls, fold: dict[str, Any], outline: Outline) -> dict[str, Any]:
        """Return the initial data that shows a fold's JSON: from the tray if it is there, else as typed points."""
        place, depth = find_in_tray(fold, outline) or ("", "")
        typed = cls.BRING if "bring" in fold else cls.CREASE
        first, second = fold.get("crease", ([], []))
        points = {"bring": fold.get("bring", []), "to": fold.get("to", []), "first": first, "second": second}
        points["moves"] = fold.get("moves", [])
        shown = {name: show_point(point) for name, point in points.items()}
        ways = {"way": fold["way"], "layers": str(fold["layers"])}
        return {"how": cls.TRAY if place else typed, "place": place, "depth": depth} | shown | ways


_LACKING = {
    FoldForm.TRAY: "Choose the side or corner that is folded, and how far.",
    FoldForm.BRING: "Type the point to bring and where it goes.",
    FoldForm.CREASE: "Type two points of the crease, and a point on the side that moves.",
}


class PunchForm(RowForm):
    shape = forms.ChoiceField(
        choices=[(name, shape.label) for name, shape in SHAPES.items()] + [("outline", "own outline")],
        widget=forms.RadioSelect,
    )
    at = PointField(label="Place")
    size = NumberField(most=1, label="Size", help_text="of the sheet's width")
    turn = NumberField(most=360, required=False, label="Turn", help_text="degrees, anticlockwise")
    points = PointsField(required=False, label="Outline, one corner a line")
    given = forms.CharField(required=False, widget=forms.HiddenInput)  # how it was put by itself

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("shape") != "outline":
            _forgive(self, {"points"})
        return given

    @property
    def is_untouched(self) -> bool:
        return self["shape"].value() == "outline" and not self["points"].value()

    def to_json(self) -> dict[str, Any]:
        given = self.cleaned_data
        punch = {name: given[name] for name in ("shape", "at", "size")} | {"turn": given["turn"] or "0"}
        return punch | ({"points": given["points"]} if given["shape"] == "outline" else {})

    @staticmethod
    def show(punch: dict[str, Any]) -> dict[str, Any]:
        points = "\n".join(map(show_point, punch.get("points", [])))
        return punch | {"at": show_point(punch["at"]), "turn": str(punch["turn"]), "points": points}
