"""Forms of bringing questions in: the file, and what to do with what was found in it."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from accounts.wording import WordedForm
from bank.errors import ExchangeError, TagError
from bank.exchange.reading import MAX_BYTES
from bank.services.tags import LONGEST, read_tags


class FileForm(WordedForm):
    file = forms.FileField(
        label="File of questions",
        help_text="A JSON file taken from a Creasemark bank, here or at another school.",
        error_messages={"required": "Choose a file.", "empty": "This file is empty."},
        widget=forms.ClearableFileInput(attrs={"accept": ".json,application/json"}),
    )

    def clean_file(self) -> bytes:
        """Return the bytes, of which no more are read than one more than may be."""
        file: UploadedFile = self.cleaned_data["file"]
        return file.read(MAX_BYTES + 1)

    def refuse(self, error: ExchangeError) -> None:
        self.add_error("file", str(error))


class TakeForm(WordedForm):
    """What the new questions become."""

    state = forms.ChoiceField(
        label="Bring them in",
        choices=[("draft", "as drafts, to look at first"), ("ready", "ready where they were, if every check passes")],
        initial="draft",
        widget=forms.RadioSelect,
    )
    tag = forms.CharField(
        required=False,
        max_length=LONGEST,
        label="A tag for all of them",
        help_text="So that they are found together, for instance: from Millbeck.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean_tag(self) -> str:
        try:
            return next(iter(read_tags([self.cleaned_data["tag"]])), "")
        except TagError as error:
            raise ValidationError(str(error)) from None
