"""What a form says of a field left empty or filled in wrongly, and where the cursor goes then.

A field that has a sentence of its own keeps it; every other is given one here, by its kind and label. The framework's
sentences ("This field is required.") reach no page.
"""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

NO_TEXT = "This holds a character that no text has (U+0000)."
A_DATE = "Write a date, for instance 2026-05-14."


def a_whole_number(low: object, high: object) -> str:
    """How to fill in a number that must lie from ``low`` to ``high``."""
    if isinstance(low, int) and isinstance(high, int):
        return f"Write a whole number from {low} to {high:,}."
    return "Write a whole number."


class _Bound(forms.BoundField):
    """A field on a page; the first that is wrong takes the cursor. (Groups of boxes: ``parts/field.html``.)"""

    form: WordedForm

    @property
    def is_first_wrong(self) -> bool:
        wrong = (name for name in self.form.fields if name in self.form.errors and not self.form[name].is_hidden)
        return self.form.takes_cursor and self.name == next(wrong, None)

    def build_widget_attrs(self, attrs: dict[str, Any], widget: forms.Widget | None = None) -> dict[str, Any]:
        attrs = super().build_widget_attrs(attrs, widget)
        is_shown = not (widget or self.field.widget).is_hidden
        return attrs | ({"autofocus": True} if is_shown and not self.use_fieldset and self.is_first_wrong else {})


class TicksOfRowsField(forms.ModelMultipleChoiceField):
    """Rows ticked by primary key. What no key can be is answered like any row that is not offered."""

    def clean(self, value: Any) -> Any:
        if not all(re.fullmatch("[0-9]{1,18}", str(ticked)) for ticked in value or ()):
            raise ValidationError(self.error_messages["invalid_choice"], code="invalid_choice", params={"value": "–"})
        return super().clean(value)


class WordedForm(forms.Form):
    """The form that every form of the site is."""

    bound_field_class = _Bound
    takes_cursor = True  # False where another form of the page goes first

    def full_clean(self) -> None:
        for name, field in self.fields.items():
            label = field.label or name.replace("_", " ").capitalize()
            field.error_messages = _words(field, str(label)) | _own(field)
        super().full_clean()

    def add_error(self, field: str | None, error: Any) -> None:
        """Also words what a field of rows says of U+0000 without asking for the field's own sentences."""
        for one in getattr(error, "error_list", ()):
            if one.code == "null_characters_not_allowed":
                one.message = NO_TEXT
        super().add_error(field, error)

    @property
    def sentences(self) -> list[str]:
        """All that is wrong, for a page that tells it in one place: each sentence names its field."""
        return [
            f"{self[name].label}: {error}" if name in self.fields and f"“{self[name].label}”" not in error else error
            for name, errors in self.errors.items()
            for error in map(str, errors)
        ]


def _own(field: forms.Field) -> dict[str, Any]:
    """The sentences that are not the framework's but were given to this field, or to its class."""
    stock: dict[str, Any] = {}
    for kind in reversed(type(field).__mro__):
        if kind.__module__.startswith("django."):
            stock |= vars(kind).get("default_error_messages", {})
    return {code: says for code, says in field.error_messages.items() if says is not stock.get(code)}


def _words(field: forms.Field, label: str) -> dict[str, str]:
    """A sentence for each code of an error that a field of this kind can have."""
    where = f"“{label}”".replace("%", "%%")  # sentences are filled in with the values of the error
    words = {
        "required": f"Fill in {where}.",
        "max_length": f"{where} may have at most %(limit_value)d characters; these are %(show_value)d. Shorten it.",
        "min_length": f"{where} needs at least %(limit_value)d characters; these are %(show_value)d.",
        "null_characters_not_allowed": NO_TEXT,
        "invalid": f"What stands in {where} cannot be read. Write it anew.",
    }
    match field:
        case forms.FileField():
            choose = "Choose a file."
            words |= dict.fromkeys(("required", "invalid", "missing"), choose)
            words |= {"empty": "This file is empty. Choose another.", "contradiction": choose}
            words |= {"max_length": "The name of this file is too long. Give it a shorter one."}
        case forms.MultipleChoiceField() | forms.ModelMultipleChoiceField():
            gone = f"One of those ticked at {where} is not offered. Look them over."
            words |= {"required": f"Tick at least one at {where}."}
            words |= dict.fromkeys(("invalid_choice", "invalid_list", "invalid_pk_value"), gone)
        case forms.ChoiceField() | forms.ModelChoiceField():
            words |= {"required": f"Choose one at {where}."}
            words |= {"invalid_choice": f"What was chosen at {where} is not offered. Choose another."}
        case forms.IntegerField():
            how = a_whole_number(field.min_value, field.max_value)
            words |= dict.fromkeys(("required", "invalid", "min_value", "max_value"), how)
        case forms.DateField():
            words |= dict.fromkeys(("required", "invalid"), A_DATE)
        case forms.EmailField():
            how = "Write an e-mail address, for instance name@school.example."
            words |= dict.fromkeys(("required", "invalid"), how)
    return words


PASSWORDS = {
    "password_too_short": "Write at least %(min_length)d characters. Several words in a row make a good password.",
    "password_too_common": "Many people have this password, so it is guessed first. Write another.",
    "password_too_similar": "This is too much like the %(verbose_name)s of the account. Write another.",
}


def of_a_password(refusal: ValidationError) -> ValidationError:
    """The framework's refusal of a new password, in sentences that say what to write."""
    return ValidationError(
        [
            ValidationError(PASSWORDS.get(one.code or "", str(one.message)), params=one.params)
            for one in refusal.error_list
        ]
    )
