"""Forms of sets: a title, questions picked from the bank, an order."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from accounts.names import tidy_text
from accounts.wording import WordedForm
from assignments.models import SetEntry
from assignments.services.sets import MOST_QUESTIONS
from bank.models import Question


class TitleForm(WordedForm):
    title = forms.CharField(
        max_length=80,
        help_text="What the class will see, for instance: Two folds, first go.",
        error_messages={"required": "Give the set a title."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean_title(self) -> str:
        title = tidy_text(self.cleaned_data["title"])
        if not title:
            raise forms.ValidationError("Give the set a title.")
        return title


class TicksField(forms.MultipleChoiceField):
    """Boxes whose values are primary keys; a set of them when cleaned. Which there are, the form decides."""

    def valid_value(self, value: str) -> bool:
        return value.isascii() and value.isdigit() and len(value) < 19

    def clean(self, value: Any) -> Any:
        return {int(ticked) for ticked in super().clean(value)}


class PickForm(WordedForm):
    """Questions ticked in the list of the bank. ``questions`` are those the person may see."""

    question = TicksField(
        error_messages={"required": "Tick the questions to add.", "invalid_choice": "One of these is not a question."}
    )

    def __init__(self, *args: Any, questions: QuerySet[Question], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.questions = questions

    def clean_question(self) -> list[Question]:
        """Return the questions in the order of their numbers."""
        ticked = self.cleaned_data["question"]
        found = list(self.questions.filter(pk__in=ticked).order_by("number"))
        if len(found) < len(ticked):
            raise forms.ValidationError("One of these questions is not in your school's bank.")
        return found


class OrderForm(WordedForm):
    """A number field for every question of a set, or one button that moves one question up or down."""

    move = forms.RegexField(r"^(up|down)-[0-9]{1,18}$", required=False)

    def __init__(self, *args: Any, entries: list[SetEntry], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.entries = entries
        for entry in entries:
            self.fields[f"position-{entry.pk}"] = forms.IntegerField(
                required=False,
                min_value=1,
                max_value=MOST_QUESTIONS,
                initial=entry.position,
            )

    @property
    def numbers(self) -> dict[int, int]:
        """The typed places by entry id; fields left empty keep their place."""
        typed = {entry.pk: self.cleaned_data.get(f"position-{entry.pk}") for entry in self.entries}
        return {pk: number for pk, number in typed.items() if number is not None}

    @property
    def moved(self) -> tuple[int, int] | None:
        """The entry to move and by how many places, or ``None`` if no such button was pressed."""
        way, _, entry = self.cleaned_data.get("move", "").partition("-")
        return (int(entry), -1 if way == "up" else 1) if way else None
