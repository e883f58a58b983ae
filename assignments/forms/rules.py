"""The rule by which a set is filled, as typed, and the questions that came of it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.utils import timezone

from accounts.models import SchoolClass
from accounts.wording import TicksOfRowsField, WordedForm
from assignments.forms.sets import PickForm
from assignments.rules import DIAGONAL, OBLIQUE, STRAIGHT, Rule
from bank.filters import FOLDS, LEVELS
from bank.models import Question, Tag
from geometry.mistakes import KINDS

MOST = 60  # questions picked at once
LONGEST_SEED = 2**31 - 1
CREASES = {STRAIGHT: "straight only", DIAGONAL: "a diagonal", OBLIQUE: "slanting at another angle"}


def _numbers(label: str, numbers: tuple[int, ...]) -> Any:
    choices = [(number, str(number)) for number in numbers]
    return forms.TypedMultipleChoiceField(
        label=label, choices=choices, coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )


def _words(label: str, words: dict[str, str]) -> Any:
    return forms.MultipleChoiceField(
        label=label, choices=words.items(), required=False, widget=forms.CheckboxSelectMultiple
    )


class RuleForm(WordedForm):
    """Read from the address, so that a rule can be kept as a link. ``classes`` and ``tags`` are those in view."""

    count = forms.IntegerField(
        label="How many questions",
        min_value=1,
        max_value=MOST,
        initial=12,
    )
    order = forms.ChoiceField(
        label="In which order",
        choices=[("rising", "Easiest first"), ("lot", "By lot")],
        widget=forms.RadioSelect,
        initial="rising",
    )
    levels = _numbers("Difficulty", LEVELS)
    folds = _numbers("Folds", FOLDS)
    creases = _words("Creases", CREASES)
    mistakes = _words("Mistakes offered", {kind.name: kind.label for kind in KINDS.values()})
    tags = TicksOfRowsField(Tag.objects.none(), label="Tags", required=False, widget=forms.CheckboxSelectMultiple)
    school_class = forms.ModelChoiceField(
        SchoolClass.objects.none(), label="Nothing that this class was set", required=False, empty_label="any class"
    )
    since = forms.DateField(
        label="since",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Empty: ever.",
    )
    seed = forms.IntegerField(required=False, min_value=0, max_value=LONGEST_SEED, initial=1, widget=forms.HiddenInput)

    def __init__(self, *args: Any, classes: Any, tags: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["school_class"].queryset = classes  # type: ignore[attr-defined]
        self.fields["tags"].queryset = tags  # type: ignore[attr-defined]

    def rule(self) -> Rule:
        typed = self.cleaned_data
        since = typed["since"]
        midnight = timezone.make_aware(datetime.combine(since, datetime.min.time())) if since else None
        return Rule(
            count=typed["count"],
            seed=typed["seed"] or 0,
            rising=typed["order"] == "rising",
            levels=tuple(typed["levels"]),
            folds=tuple(typed["folds"]),
            tags=tuple(tag.pk for tag in typed["tags"]),
            creases=tuple(typed["creases"]),
            mistakes=tuple(typed["mistakes"]),
            school_class=typed["school_class"],
            since=midnight,
        )


class PickedForm(PickForm):
    """The questions of a preview, to be added in the order in which they stood there."""

    def clean_question(self) -> list[Question]:
        found = {question.pk: question for question in super().clean_question()}
        return [found[int(pk)] for pk in dict.fromkeys(self.data.getlist("question"))]  # type: ignore[attr-defined]
