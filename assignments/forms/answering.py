"""What the question page sends: one thing the pupil did, from the page's script or from its plain form."""

from __future__ import annotations

from typing import Any, NamedTuple
from uuid import UUID

from django import forms
from django.http import QueryDict

from accounts.wording import WordedForm
from assignments.models import Event, Sitting
from assignments.papers import Place, letter_named, places

LARGEST = 2**31 - 1  # what the database's whole numbers hold
OF_A_PICTURE = (Event.Kind.CHOOSE, Event.Kind.STRIKE, Event.Kind.UNSTRIKE)
NOT_HERE = "This question is not in your set. Go back to your sets and open it again."

USUAL = (Event.Kind.CHOOSE, Event.Kind.FLAG, Event.Kind.UNFLAG, Event.Kind.STRIKE, Event.Kind.UNSTRIKE)


class Usual(NamedTuple):
    """What the page's script sends: all of it there, and written as the script writes it."""

    question: int
    kind: str
    option: str
    client_id: UUID
    epoch: int
    seq: int


def read_usual(sent: QueryDict) -> Usual | None:
    """Return it at a fifteenth of the form's cost; ``None`` for whatever the form had better look at."""
    numbers = [sent.get(name, "") for name in ("question", "epoch", "seq")]
    kind, option = sent.get("kind", ""), sent.get("option", "")
    if "then" in sent or kind not in USUAL or bool(option) != (kind in OF_A_PICTURE):
        return None
    if not all(text.isascii() and text.isdigit() and len(text) < 10 and int(text) for text in numbers):
        return None
    try:
        client_id = UUID(sent.get("client_id", ""))
    except ValueError:
        return None
    question, epoch, seq = map(int, numbers)
    return Usual(question, kind, option, client_id, epoch, seq)


class AnswerForm(WordedForm):
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
