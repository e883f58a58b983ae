"""Answers from paper: for each pupil the number of the paper and a letter for each question, typed in one go."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any, NamedTuple

from django import forms
from django.utils import timezone

from accounts.models import User
from accounts.wording import WordedForm
from assignments.forms.results import DayField
from assignments.models import Sitting
from assignments.services.paper_marks import LEFT_OUT, PaperAnswers

LETTERS = "ABCDE"
LEFT_OUT_SIGNS = str.maketrans(dict.fromkeys(".–—_?", LEFT_OUT))


class AnswersField(forms.CharField):
    """A letter from A to E for each of ``count`` questions, "-" for one left out; spaces do not count."""

    def __init__(self, *, count: int, **kwargs: Any) -> None:
        super().__init__(required=False, **kwargs)
        self.count = count
        self.widget.attrs |= {
            "autocomplete": "off",
            "autocapitalize": "characters",
            "spellcheck": "false",
            "maxlength": 2 * count,
            "data-answers": count,
        }

    def clean(self, value: Any) -> str:
        letters = "".join(super().clean(value).upper().translate(LEFT_OUT_SIGNS).split())
        for number, letter in enumerate(letters, 1):
            if letter not in LETTERS + LEFT_OUT:
                raise forms.ValidationError(f"Question {number}: “{letter}” is not a letter from A to E.")
        if letters and len(letters) != self.count:
            raise forms.ValidationError(
                f"{len(letters)} of {self.count} answers. Write {LEFT_OUT} for a question left out."
            )
        return letters


class Row(NamedTuple):
    """One pupil in the grid."""

    pupil: User
    paper: forms.BoundField
    answers: forms.BoundField


class PaperMarksForm(WordedForm):
    """A row for each pupil who has not sat the set in the browser. ``typed`` are answers that are kept already.

    ``papers`` are the numbers of the papers there are, ``given`` the one that a pupil is to have, if not the first.
    """

    sat_on = DayField(label="Sat on", error_messages={"required": "Write the day on which the paper was sat."})

    def __init__(
        self,
        *args: Any,
        pupils: Sequence[User],
        sittings: Mapping[int, Sitting],
        typed: Mapping[int, tuple[int, str]],
        papers: Iterable[int],
        given: Mapping[int, int],
        count: int,
        at: datetime,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.pupils, self.sittings, self.count, self.at = pupils, sittings, count, at
        choices = [(number, str(number)) for number in papers]
        for pupil in self._to_type():
            paper, letters = typed.get(pupil.pk, (given.get(pupil.pk, 1), ""))
            self.fields[f"paper-{pupil.pk}"] = forms.TypedChoiceField(
                label=f"Paper of {pupil.name}",
                choices=choices,
                coerce=int,
                initial=paper,
                empty_value=given.get(pupil.pk, 1),  # type: ignore[arg-type]  # the stubs know only strings
                required=False,
                show_hidden_initial=True,
            )
            self.fields[f"answers-{pupil.pk}"] = AnswersField(
                label=f"Answers of {pupil.name}", count=count, initial=letters, show_hidden_initial=True
            )

    def clean_sat_on(self) -> date:
        day = self.cleaned_data["sat_on"]
        if day > timezone.localdate(self.at):
            raise forms.ValidationError("This day is still to come. Write the day on which the paper was sat.")
        return day

    def point_to(self, pupil_id: int, paper: int) -> None:
        """Put the cursor into a pupil's row, and that paper's number beside it."""
        if f"answers-{pupil_id}" not in self.fields:
            return
        self.fields[f"answers-{pupil_id}"].widget.attrs["autofocus"] = True
        if self.is_bound:
            typed = {name: self.data[name] for name in self.data}  # a QueryDict unpacks into lists
            self.data = {**typed, f"paper-{pupil_id}": str(paper)}
        else:
            self.fields[f"paper-{pupil_id}"].initial = paper

    @property
    def numbers(self) -> range:
        return range(1, self.count + 1)

    @property
    def rows(self) -> Iterator[Row]:
        for pupil in self._to_type():
            yield Row(pupil, self[f"paper-{pupil.pk}"], self[f"answers-{pupil.pk}"])

    @property
    def in_browser(self) -> list[User]:
        """The pupils of whom nothing can be typed, since they have sat the set in the browser."""
        to_type = set(self._to_type())
        return [pupil for pupil in self.pupils if pupil not in to_type]

    @property
    def answers(self) -> list[PaperAnswers]:
        """The rows that whoever typed has changed; what somebody else changed meanwhile is none of them."""
        changed = {name.partition("-")[2] for name in self.changed_data}
        return [
            PaperAnswers(pupil, self.cleaned_data[f"paper-{pupil.pk}"], self.cleaned_data[f"answers-{pupil.pk}"])
            for pupil in self._to_type()
            if str(pupil.pk) in changed
        ]

    @property
    def sat_at(self) -> datetime:
        """The day's midnight by the school's clock: paper does not tell the hour."""
        return timezone.make_aware(datetime.combine(self.cleaned_data["sat_on"], time.min))

    def _to_type(self) -> list[User]:
        sat = {pk for pk, sitting in self.sittings.items() if not sitting.is_on_paper}
        return [pupil for pupil in self.pupils if pupil.pk not in sat]
