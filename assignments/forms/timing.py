"""The two forms beside the monitor: what happens to the time of the whole class, and to one pupil's."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.wording import WordedForm
from assignments.forms.assigning import SHORTEST, DurationField

NOTE_HELP = "Say what happened in the room. It stays on record with the results. Write nothing about a child’s health."
FIVE_MINUTES = 300


class TimeForm(WordedForm):
    """What is done is named by the button pressed (``deed``): some deeds need minutes, some a note."""

    with_minutes: tuple[str, ...] = ()
    with_note: tuple[str, ...] = ()

    seconds = DurationField(label="Minutes", shortest=SHORTEST, required=False, initial=FIVE_MINUTES)
    note = forms.CharField(label="Note", max_length=200, required=False, help_text=f"Needed. {NOTE_HELP}")

    def __init__(self, data: Any, *, deed: str, **kwargs: Any) -> None:
        super().__init__(data, auto_id=f"{self.prefix or 'all'}_%s", **kwargs)
        self.fields["seconds"].required = deed in self.with_minutes
        if deed in self.with_note:
            self.fields["note"].required = True
            self.fields["note"].error_messages["required"] = "Say in a few words why. It stays with the results."
        for field in self.fields.values():
            field.widget.attrs.pop("required", None)


class ClassTimeForm(TimeForm):
    with_minutes = ("extend_all",)
    with_note = ("extend_all", "end_all")
    prefix = "class"
    note = forms.CharField(
        label="Note", max_length=200, required=False, help_text=f"Needed for more time and for the end. {NOTE_HELP}"
    )


class PupilTimeForm(TimeForm):
    with_minutes = ("extend_one", "reopen")
    with_note = ("extend_one", "reopen", "end_one")
    prefix = "pupil"
    field_order = ("pupil", "seconds", "note")

    pupil = forms.TypedChoiceField(label="Pupil", coerce=int)

    def __init__(self, data: Any, *, pupils: Iterable[tuple[int, str]], **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.fields["pupil"].choices = [("", "Choose a pupil"), *pupils]  # type: ignore[attr-defined]
