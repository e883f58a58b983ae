"""How a question found faulty is marked from now on, and why."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.wording import WordedForm
from assignments.models import AssignedQuestion
from assignments.papers import LETTERS

DROP, AS_IT_WAS, TWO_KEYS = "drop", "as_it_was", "two_keys"


class RulingForm(WordedForm):
    """Leave the question out, accept a second option, or mark it as it was made."""

    deed = forms.ChoiceField(
        label="From now on",
        choices=[
            (DROP, "Leave the question out of the marks"),
            (TWO_KEYS, "Accept a second option as right"),
            (AS_IT_WAS, "Mark it by its key alone, as it was made"),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what is to become of the question."},
    )
    also = forms.ChoiceField(label="Second option", required=False, help_text="The letter of the bank.")
    reason = forms.CharField(
        label="Why",
        max_length=200,
        help_text="One line for colleagues. It stays with the marks; name no pupil in it.",
        error_messages={"required": "Say in a line why, so that it can be understood later."},
    )

    def __init__(self, *args: Any, question: AssignedQuestion, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.key = question.version.key
        others = [letter for letter in LETTERS if letter != self.key]
        self.fields["also"].choices = [("", "–")] + [(letter, letter) for letter in others]  # type: ignore[attr-defined]

    def clean(self) -> None:
        if self.cleaned_data.get("deed") == TWO_KEYS and not self.cleaned_data.get("also"):
            self.add_error("also", "Choose the option that is to count as right as well.")

    @property
    def accepts(self) -> str:
        """The letters that count as right; "" for a question left out."""
        chosen = self.cleaned_data
        return {DROP: "", AS_IT_WAS: self.key, TWO_KEYS: self.key + chosen["also"]}[chosen["deed"]]
