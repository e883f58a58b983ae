"""The form that puts questions chosen in the bank into a set: one that is there, or a new one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from accounts.names import tidy_text
from accounts.wording import WordedForm
from assignments.models import QuestionSet

NEW = "new"


class PutForm(WordedForm):
    """``sets`` are those the person may change. ``leave_out`` puts in the ready questions and leaves the others."""

    into = forms.ChoiceField(
        label="Into",
        widget=forms.RadioSelect,
        initial=NEW,
        error_messages={"required": "Choose a set.", "invalid_choice": "This set is not there any more."},
    )
    title = forms.CharField(
        required=False,
        max_length=80,
        label="Title of the new set",
        help_text="What a class will see, for instance: Two folds, first go.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    leave_out = forms.BooleanField(required=False, label="Leave out those that are not ready")

    def __init__(self, *args: Any, sets: QuerySet[QuestionSet], unready: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sets = {str(one.pk): one for one in sets}
        field = self.fields["into"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(NEW, "a new set"), *((pk, one.title) for pk, one in self.sets.items())]
        if not unready:
            del self.fields["leave_out"]

    def clean_title(self) -> str:
        return tidy_text(self.cleaned_data["title"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("into") == NEW and not cleaned.get("title") and "title" not in self.errors:
            self.add_error("title", "Give the new set a title.")
        return cleaned

    @property
    def chosen(self) -> QuestionSet | None:
        """The set chosen, or ``None`` for a new one."""
        return self.sets.get(self.cleaned_data["into"])
