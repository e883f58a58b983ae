"""Filters of the results and their exports: class, set, and from when to when."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone

from accounts.models import SchoolClass, User
from accounts.wording import A_DATE, WordedForm
from assignments.models import Assignment, QuestionSet
from assignments.querysets import AssignmentQuerySet


class DayField(forms.DateField):
    widget = forms.DateInput({"type": "date"}, format="%Y-%m-%d")

    def to_python(self, value: Any) -> date | None:
        day = super().to_python(value)
        if day is not None and not 2000 <= day.year <= 2200:
            raise forms.ValidationError(A_DATE)
        return day


class ResultsForm(WordedForm):
    """Filters over the assignments a person may see; an empty field filters nothing."""

    school_class = forms.ModelChoiceField(
        SchoolClass.objects.none(), label="Class", required=False, empty_label="All classes"
    )
    question_set = forms.ModelChoiceField(
        QuestionSet.objects.none(), label="Set", required=False, empty_label="All sets"
    )
    assignment = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=2**63 - 1,
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), "There is no such assignment."),
    )
    since = DayField(label="From", required=False)
    until = DayField(label="To", required=False)
    without_names = forms.BooleanField(label="Leave names out", required=False)

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        self.fields["school_class"].queryset = SchoolClass.objects.visible_to(user)  # type: ignore[attr-defined]
        self.fields["question_set"].queryset = QuestionSet.objects.visible_to(user).order_by("title")  # type: ignore[attr-defined]

    def clean(self) -> None:
        since, until = self.cleaned_data.get("since"), self.cleaned_data.get("until")
        if since and until and until < since:
            self.add_error("until", "This is before the first day. Choose a later one.")

    @property
    def assignments(self) -> AssignmentQuerySet:
        """The assignments that pass the filters. Both days count in full, by the school's clock."""
        found = Assignment.objects.visible_to(self.user)
        chosen = self.cleaned_data
        if chosen.get("school_class"):
            found = found.filter(school_class=chosen["school_class"])
        if chosen.get("question_set"):
            found = found.filter(Q(question_set=chosen["question_set"]) | Q(second_set=chosen["question_set"]))
        if chosen.get("assignment"):
            found = found.filter(pk=chosen["assignment"])
        return found.opening_between(
            _midnight(chosen.get("since")), _midnight(chosen.get("until"), after=timedelta(days=1))
        )


def _midnight(day: date | None, *, after: timedelta = timedelta(0)) -> datetime | None:
    if day is None:
        return None
    return timezone.make_aware(datetime.combine(day + after, time.min))
