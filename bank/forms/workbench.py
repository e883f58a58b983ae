"""The workbench's forms as one, and the question composed from them."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from itertools import takewhile

from django import forms

from accounts.wording import WordedForm
from bank.composing import Paper, fold_paper
from bank.forms.arranged import OptionsTyped
from bank.forms.fields import TagsField, Untruncated
from bank.forms.rows import FoldForm, PunchForm, SheetForm
from bank.forms.typed import count_rows
from bank.models import Version
from geometry.errors import GeometryError
from geometry.option_sets import LABELS, OptionSet
from geometry.spec import MOST_FOLDS, MOST_PUNCHES


class DetailsForm(WordedForm):
    """What belongs to the question and not to its paper, and what the page must remember."""

    tags = TagsField(help_text="parted by commas")
    note = Untruncated(required=False, max_length=200, help_text="for colleagues; pupils never see it")
    seed = forms.IntegerField(required=False, min_value=1, max_value=2**31, widget=forms.HiddenInput)
    version = forms.IntegerField(required=False, min_value=1, max_value=2**15, widget=forms.HiddenInput)
    over = forms.IntegerField(required=False, min_value=1, max_value=2**15, widget=forms.HiddenInput)


class Workbench:
    """The sheet, the folds, the punches and the details of one question as typed; ``saved`` is what it started from."""

    def __init__(self, typed: Mapping[str, str], saved: Version | None = None) -> None:
        folds, punches = count_rows(typed, "fold"), count_rows(typed, "punch")
        self.typed, self.saved = typed, saved
        self.sheet = SheetForm(typed, prefix="sheet")
        self.folds = [FoldForm(typed, prefix=f"fold-{n}") for n in range(min(folds, MOST_FOLDS))]
        self.punches = [PunchForm(typed, prefix=f"punch-{n}") for n in range(min(punches, MOST_PUNCHES))]
        self.details = DetailsForm(typed)
        self.details.takes_cursor = self.is_readable

    @property
    def step(self) -> str:
        """The row under the hands, ``fold-0`` or ``punch-1``: the one chosen, else the first there is."""
        rows = [str(form.prefix) for form in (*self.folds, *self.punches)]
        chosen = self.typed.get("step", "")
        return chosen if chosen in rows else next(iter(rows), "")

    @property
    def shown(self) -> int:
        """Which picture of the stem is on the mat: a fold's own, or the last for every punch."""
        kind, _, place = self.step.partition("-")
        return int(place) if kind == "fold" else len(self.folds)

    @property
    def is_readable(self) -> bool:
        """True when every field of the paper can be read (whether or not paper can be folded so)."""
        return all(form.is_valid() for form in (self.sheet, *self.folds, *self.punches))

    @cached_property
    def paper(self) -> Paper:
        """The paper folded as typed; as far as the folds can be read if a field cannot."""
        if not self.is_readable:
            return self._readable_part()
        folds = [form.to_json for form in self.folds]
        return fold_paper(self.sheet.to_json(), folds, [form.to_json() for form in self.punches])

    def _readable_part(self) -> Paper:
        if not self.sheet.is_valid():
            return Paper()
        folds = [form.to_json for form in takewhile(FoldForm.is_valid, self.folds)]
        paper = fold_paper(self.sheet.to_json(), folds, [])
        return Paper(as_far=paper.unfolding or paper.as_far)

    @cached_property
    def options(self) -> OptionsTyped | None:
        """The options as typed; None while the paper cannot be unfolded."""
        if self.paper.unfolding is None:
            return None
        self.details.is_valid()
        return OptionsTyped(self.typed, self.paper.unfolding, self.details.cleaned_data.get("seed"), self.saved)

    @property
    def carried(self) -> dict[str, str]:
        """What the page carries along of the options: where each stands, and what is open below them."""
        names = [*(f"option-{place}" for place in range(len(LABELS))), "desk", "holes", "hole-before"]
        return {name: self.typed.get(name, "") for name in names}

    @property
    def option_set(self) -> OptionSet | None:
        """The options of the paper, as many as it gives: the right one at least."""
        return self.options.arrangement.option_set if self.options else None

    @property
    def has_five(self) -> bool:
        """True for a question that is whole: the right option and four wrong ones."""
        return self.option_set is not None and len(self.option_set.options) == len(LABELS)

    @property
    def options_are_readable(self) -> bool:
        """False while a hole set by hand cannot be read."""
        return self.options is None or self.options.desk[0] != "edit" or self.options.holes is not None

    @property
    def options_say(self) -> str:
        """Why there are not five, or what had to give way."""
        return " ".join(self.options.arrangement.says) if self.options else ""

    @cached_property
    def says(self) -> dict[str, str]:
        """The sentence at each row of the page (``sheet``, ``fold-0``, ``punch-1``).

        Every row is there, with an empty sentence where nothing is wrong, so that a mended fault is wiped away.
        """
        rows = [self.sheet, *self.folds, *self.punches]
        says = {str(form.prefix): " ".join(form.sentences) for form in rows}
        if error := self.paper.error:
            place = _place_of(error)
            says[place if place in says else "sheet"] = str(error)
        return says

    @property
    def asks(self) -> bool:
        """True where the first sentence asks for what nobody has had time to type yet."""
        fault = next((place for place, sentence in self.says.items() if sentence), "")
        rows = (self.sheet, *self.folds, *self.punches)
        return any(form.prefix == fault and form.is_untouched for form in rows)

    @property
    def fault(self) -> str:
        """The first sentence of those, or nothing."""
        return next((sentence for sentence in self.says.values() if sentence), "")


def _place_of(error: GeometryError) -> str:
    if error.fold is not None:
        return f"fold-{error.fold - 1}"
    return "sheet" if error.punch is None else f"punch-{error.punch}"
