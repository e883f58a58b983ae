"""Forms for questions chosen together: tags to give and to take off, pictures to take away."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from accounts.wording import WordedForm
from bank.forms.fields import TagsField
from bank.models import Tag
from bank.slides import FORMS, PARTS


class TagsForm(WordedForm):
    """``carried`` are the tags that the questions have, each with how many have it."""

    add = TagsField(label="Give them", help_text="Tags parted by commas.")
    remove = forms.TypedMultipleChoiceField(
        required=False, label="Take off them", coerce=int, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, carried: Iterable[tuple[Tag, int]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["remove"]
        assert isinstance(field, forms.TypedMultipleChoiceField)
        field.choices = [(tag.pk, f"{tag.name} ({count})") for tag, count in carried]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and not cleaned.get("add") and not cleaned.get("remove"):
            raise ValidationError("Type a tag to give, or tick one to take off.")
        return cleaned


class PicturesForm(WordedForm):
    parts = forms.MultipleChoiceField(
        label="What",
        choices=list(PARTS.items()),
        initial=["stem", "options"],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick what is to be in it."},
    )
    forms_ = forms.MultipleChoiceField(
        label="As",
        choices=list(FORMS.items()),
        initial=["2x"],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one form."},
    )
