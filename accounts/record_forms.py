"""Forms of the administrator's pages about records: who is looked for, erased, how long things are kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from accounts.forms import Form
from accounts.models import User, fold_name
from accounts.names import tidy_text
from accounts.services.retention import LONGEST
from accounts.trail import Deed
from accounts.wording import A_DATE


class PupilsFilter(Form):
    """Which pupils of the school to list."""

    name = forms.CharField(label="Name, or a part of it", required=False, max_length=80)
    without_class = forms.BooleanField(label="In no class", required=False)


class ErasureForm(Form):
    """The pupil's name, typed by whoever erases the pupil, so that no slip of the hand does it."""

    name = forms.CharField(
        label="Write the pupil’s name to confirm",
        max_length=200,
        error_messages={"required": "Write the pupil’s name."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )

    def __init__(self, *args: Any, pupil: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.pupil = pupil

    def clean_name(self) -> str:
        if fold_name(tidy_text(self.cleaned_data["name"])) != fold_name(self.pupil.name):
            raise forms.ValidationError("This is not the pupil’s name. Nothing was erased.")
        return self.pupil.name


class RetentionForm(Form):
    """A number of months for each kind of record; the name of a field is the kind's key."""

    def __init__(self, *args: Any, periods: Mapping[str, int], titles: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial = dict(periods)
        for key, title in titles.items():
            self.fields[key] = forms.IntegerField(
                label=f"{title}: months kept",
                min_value=1,
                max_value=LONGEST,
                widget=forms.NumberInput(attrs={"inputmode": "numeric", "class": "control months"}),
                error_messages={"required": f"Write a number of months from 1 to {LONGEST}."},
            )


class TrailFilter(Form):
    """Which entries of the audit trail to show; an empty field filters nothing."""

    person = forms.ModelChoiceField(label="Who", queryset=User.objects.none(), required=False, empty_label="Everybody")
    deed = forms.ChoiceField(label="What", choices=[("", "Everything"), *Deed.choices], required=False)
    since = forms.DateField(label="From", required=False, widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"))
    until = forms.DateField(label="To", required=False, widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"))

    def __init__(self, *args: Any, staff: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = staff  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for day in ("since", "until"):
            if cleaned.get(day) and not 2000 <= cleaned[day].year <= 2200:
                self.add_error(day, A_DATE)
        since, until = cleaned.get("since"), cleaned.get("until")
        if since and until and until < since:
            self.add_error("until", "This is before the first day. Choose a later one.")
        return cleaned
