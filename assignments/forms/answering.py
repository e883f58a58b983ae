"""What the question page sends: one thing the pupil did, from the page's script or from its plain form."""

from __future__ import annotations

from typing import Any

from django import forms

from assignments.models import Event, Sitting
from assignments.papers import Place, letter_named, places

LARGEST = 2**31 - 1  # what the database's whole numbers hold
OF_A_PICTURE = (Event.Kind.CHOOSE, Event.Kind.STRIKE, Event.Kind.UNSTRIKE)
NOT_HERE = "This question is not in your set. Go back to your sets and open it again."


class AnswerForm(forms.Form):
    """``question`` is a place on the pupil's paper, ``option`` the page's name for a picture, "" for none."""

    question = forms.IntegerField(min_value=1, max_value=LARGEST)
    kind = forms.ChoiceField(choices=Event.Kind.choices, required=False)
    option = forms.CharField(max_length=64, required=False)
    client_id = forms.UUIDField()
    epoch = forms.IntegerField(min_value=1, max_value=LARGEST)
    seq = forms.IntegerField(min_value=1, max_value=LARGEST, required=False)

    place: Place

    def __init__(self, *args: Any, sitting: Sitting, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sitting = sitting

    def clean_question(self) -> int:
        number = self.cleaned_data["question"]
        paper = places(self.sitting.paper)
        if number > len(paper):
            raise forms.ValidationError(NOT_HERE)
        self.place = paper[number - 1]
        return number

    def clean_kind(self) -> str:
        return self.cleaned_data["kind"] or Event.Kind.CHOOSE

    def clean(self) -> None:
        """Turn the page's name of the option into the version's letter."""
        name, kind = self.cleaned_data.get("option", ""), self.cleaned_data.get("kind")
        if "question" not in self.cleaned_data or kind is None:
            return
        letter = letter_named(self.sitting.pk, self.place, name) if name else ""
        if letter is None:
            self.add_error("option", "This picture does not belong to this question.")
        elif bool(letter) != (kind in OF_A_PICTURE) and not self.is_from_plain_form:
            self.add_error("option", "A choice names a picture, and so does ruling one out; nothing else does.")
        self.cleaned_data["letter"] = letter

    @property
    def is_from_plain_form(self) -> bool:
        """Whether the page had no script: then one form carries the choice and where to go next."""
        return "then" in self.data

    @property
    def event(self) -> dict[str, Any]:
        """The event as ``record_event`` takes it."""
        kept = {name: self.cleaned_data[name] for name in ("kind", "client_id", "epoch", "seq")}
        return kept | {"question_id": self.place.question, "option": self.cleaned_data["letter"]}

    @property
    def says(self) -> str:
        """What is wrong, in one sentence."""
        for name in ("question", "option"):
            if name in self.errors:
                return " ".join(str(error) for error in self.errors[name])
        return "The choice could not be read. Please reload the page and choose again."
