"""What a teacher asks the generator for, as typed, and what is done with the questions made."""

from __future__ import annotations

import secrets
from typing import Any

from django import forms

from accounts.wording import WordedForm
from bank.asking import ARRANGEMENTS, CREASE, CREASE_WORDS, MOST, RISING, Ask, AtLeast
from bank.forms.fields import TagsField
from bank.models import State
from geometry.creasing import CREASES, DIAGONAL, OBLIQUE, STRAIGHT
from geometry.generation import LOT, NO_LOT, TEACHING
from geometry.mistakes import KINDS
from geometry.shapes import SHAPES

LONGEST_SEED = 2**31 - 1
ROWS = 3  # of "at least so many with"
CREASE_CHOICES = {STRAIGHT: "Straight", DIAGONAL: "Diagonal", OBLIQUE: "Slanting at other angles"}
SETS = {LOT: "Drawn by lot, for tests", TEACHING: "For teaching and practice"}
WITH = [
    ("", "nothing more"),
    ("Creases", [(CREASE + kind, CREASE_WORDS[kind]) for kind in (DIAGONAL, OBLIQUE, STRAIGHT)]),
    ("Mistakes among the wrong options", [(kind.name, kind.label) for kind in KINDS.values()]),
]


def draw_seed() -> int:
    """A seed by lot, for who types none."""
    return secrets.randbelow(LONGEST_SEED)


def _number(label: str, low: int, high: int, initial: int | None = None, *, required: bool = True) -> Any:
    return forms.IntegerField(label=label, min_value=low, max_value=high, initial=initial, required=required)


def _span(label: str, low: int, high: int, initial: int) -> Any:
    choices = [(number, str(number)) for number in range(low, high + 1)]
    return forms.TypedChoiceField(label=label, choices=choices, coerce=int, initial=initial)


class AskForm(WordedForm):
    """Count, folds, creases, shapes, punches, flaps, difficulty, mistakes, kind of option sets and seed."""

    count = _number("How many questions", 1, MOST, 12)
    sets = forms.ChoiceField(label="Option sets", choices=SETS.items(), widget=forms.RadioSelect, initial=LOT)
    folds_from = _span("Folds, from", 1, 6, 2)
    folds_to = _span("Folds, to", 1, 6, 3)
    creases = forms.MultipleChoiceField(
        label="Creases",
        choices=CREASE_CHOICES.items(),
        widget=forms.CheckboxSelectMultiple,
        initial=CREASES,
        error_messages={"required": "Tick one kind of crease at least."},
    )
    flaps = forms.BooleanField(label="Some folds take the top layers only (flaps)", required=False)
    punches_from = _span("Punches, from", 1, 4, 1)
    punches_to = _span("Punches, to", 1, 4, 2)
    shapes = forms.MultipleChoiceField(
        label="Shapes",
        choices=[(shape, shape) for shape in SHAPES],
        widget=forms.CheckboxSelectMultiple,
        initial=tuple(SHAPES),
        error_messages={"required": "Tick one shape at least."},
    )
    level_from = _span("Difficulty, from", 1, 5, 1)
    level_to = _span("Difficulty, to", 1, 5, 5)
    arrangement = forms.ChoiceField(
        label="In which order", choices=ARRANGEMENTS.items(), widget=forms.RadioSelect, initial=RISING
    )
    seed = _number("Seed", 0, LONGEST_SEED, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seed"].help_text = "The same wishes with the same seed give the same questions. Empty: by lot."
        for row in range(ROWS):
            self.fields[f"least_{row}"] = _number(f"At least how many ({row + 1})", 1, MOST, required=False)
            self.fields[f"with_{row}"] = forms.ChoiceField(label=f"with what ({row + 1})", choices=WITH, required=False)

            for name in (f"least_{row}", f"with_{row}"):
                self.fields[name].widget.attrs["class"] = "control"

    @property
    def at_least_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"least_{row}"], self[f"with_{row}"]) for row in range(ROWS)]

    def clean(self) -> None:
        for low, high in (("folds_from", "folds_to"), ("punches_from", "punches_to"), ("level_from", "level_to")):
            if self._has(low, high) and self.cleaned_data[low] > self.cleaned_data[high]:
                self.add_error(high, "This must not be less than the number before it.")
        if self._has("sets", "folds_to") and self.cleaned_data["sets"] == LOT and self.cleaned_data["folds_to"] < 2:
            self.add_error("folds_to", NO_LOT)
        for row in range(ROWS):
            self._clean_row(f"least_{row}", f"with_{row}")

    def _clean_row(self, least: str, what: str) -> None:
        if not self._has(least, what, "count"):
            return
        number, named = self.cleaned_data[least], self.cleaned_data[what]
        if number and not named:
            self.add_error(what, "Choose what so many questions shall have.")
        elif named and not number:
            self.add_error(least, "Type how many questions shall have it.")
        elif number and number > self.cleaned_data["count"]:
            self.add_error(least, f"You ask for {self.cleaned_data['count']} questions in all.")

    def _has(self, *names: str) -> bool:
        return all(name in self.cleaned_data for name in names)

    def ask(self) -> Ask:
        """What is asked for; without a seed typed, one by lot."""
        typed = self.cleaned_data
        rows = [(typed[f"with_{row}"], typed[f"least_{row}"]) for row in range(ROWS)]
        return Ask(
            count=typed["count"],
            seed=draw_seed() if typed["seed"] is None else typed["seed"],
            folds=(typed["folds_from"], typed["folds_to"]),
            punches=(typed["punches_from"], typed["punches_to"]),
            creases=tuple(typed["creases"]),
            shapes=tuple(typed["shapes"]),
            flaps=typed["flaps"],
            levels=(typed["level_from"], typed["level_to"]),
            arrangement=typed["arrangement"],
            at_least=tuple(AtLeast(what, count) for what, count in rows if what and count),
            sets=typed["sets"],
        )


class SaveForm(WordedForm):
    """Tags for all that is kept, and whether it may be set at once."""

    tags = TagsField(help_text="for all of them, parted by commas")
    state = forms.ChoiceField(
        label="Save them as",
        choices=[(State.READY, "Ready to be set"), (State.DRAFT, "Drafts, to be looked at again")],
        widget=forms.RadioSelect,
        initial=State.READY,
    )
