"""The form behind the button that sends practice: one kind of mistake, and the pupils it is for."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.models import User
from accounts.wording import TicksOfRowsField, WordedForm
from assignments.models import Assignment
from assignments.queries import pupils_of
from geometry.mistakes import KINDS


class PracticeForm(WordedForm):
    kind = forms.ChoiceField(
        choices=[(name, kind.label) for name, kind in KINDS.items()],
        error_messages={"required": "Say which mistake to practise.", "invalid_choice": "There is no such mistake."},
    )
    pupil = TicksOfRowsField(
        queryset=User.objects.none(),
        error_messages={"required": "Choose a pupil.", "invalid_choice": "A pupil chosen is not in this class now."},
    )

    def __init__(self, *args: Any, assignment: Assignment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pupil"].queryset = pupils_of(assignment)  # type: ignore[attr-defined]

    @property
    def refusal(self) -> str:
        """Why nothing can be sent, in one line."""
        return " ".join(str(error) for errors in self.errors.values() for error in errors)
