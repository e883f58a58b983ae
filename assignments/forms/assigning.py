"""The form that sends a set to a class, and the one that changes what was sent."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from accounts.models import User
from accounts.wording import WordedForm
from assignments.models import Assignment, Feedback, QuestionSet
from assignments.outlook import SECONDS_A_QUESTION
from assignments.paper.shuffles import in_turn
from assignments.school_time import NoSuchTime, comes_twice, on_the_wall, read_wall_clock
from assignments.services.assigning import LONGEST, Terms
from assignments.timekeeping import UNTIMED

SHORTEST = 10  # seconds
MOST_EXTRA = 300  # per cent
FARTHEST = timedelta(days=366)
HOW_TO_WRITE_IT = "Write a date and a time, for instance 2026-05-14 15:30."
WALL_CLOCK = "%Y-%m-%dT%H:%M"


class WallClockField(forms.Field):
    """A time on the school's wall, as ``datetime-local`` fields send it; an aware moment when cleaned.

    In the hour that the clock shows twice, ``later`` means the second; ``said_of_both`` then tells which it was.
    """

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format=WALL_CLOCK)
    default_error_messages = {"required": HOW_TO_WRITE_IT}

    def __init__(self, *, later: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.later = later

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, datetime):
            return value
        return f"{on_the_wall(value, timezone.get_current_timezone()):{WALL_CLOCK}}"

    def to_python(self, value: Any) -> datetime | None:
        if value in self.empty_values:
            return None
        wall = self._read(str(value))
        try:
            return read_wall_clock(wall, timezone.get_current_timezone(), later=self.later)
        except NoSuchTime as never:
            raise forms.ValidationError(str(never)) from never

    def _read(self, text: str) -> datetime:
        """Read the naive time. The fold that ISO 8601 cannot write is left to ``later``."""
        try:
            wall = datetime.fromisoformat(text.strip())
        except ValueError as unreadable:
            raise forms.ValidationError(HOW_TO_WRITE_IT) from unreadable
        if wall.tzinfo is not None or not 2000 <= wall.year <= 2200:
            raise forms.ValidationError(HOW_TO_WRITE_IT)
        return wall


def said_of_both(moment: datetime, *, later: bool) -> str:
    """Say which of two moments is meant where the clock shows this time twice; else ""."""
    zone = timezone.get_current_timezone()
    wall = on_the_wall(moment, zone)
    if not comes_twice(wall, zone):
        return ""
    which = "second" if later else "first"
    return (
        f"The clocks go back on {wall.day} {wall:%B}, and {wall:%H:%M} comes twice. "
        f"The {which} of the two is meant ({moment.astimezone(zone):%Z})."
    )


class DurationField(forms.CharField):
    """Minutes and seconds as "6:00", or whole minutes as "6"; seconds when cleaned."""

    asks = "Write minutes and seconds, for instance 6:00."

    def __init__(self, *, shortest: int, longest: int = LONGEST, **kwargs: Any) -> None:
        super().__init__(max_length=12, error_messages={"required": self.asks}, **kwargs)
        self.shortest, self.longest = shortest, longest
        self.widget.attrs |= {"inputmode": "text", "autocomplete": "off", "size": "8"}

    def prepare_value(self, value: Any) -> Any:
        return f"{value // 60}:{value % 60:02}" if isinstance(value, int) else value

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if text == "" and not self.required:
            return None
        typed = re.fullmatch(r"([0-9]{1,6})(?::([0-5][0-9]))?", text, re.ASCII)
        if typed is None:
            raise forms.ValidationError(self.asks)
        seconds = int(typed[1]) * 60 + int(typed[2] or 0)
        if not self.shortest <= seconds <= self.longest:
            least, most = self.prepare_value(self.shortest), self.longest // 3600
            raise forms.ValidationError(f"Allow at least {least} and at most {most} hours.")
        return seconds


class AssignForm(WordedForm):
    opens_at = WallClockField(label="Opens", help_text="From then a pupil may start.")
    closes_at = WallClockField(
        label="Closes", later=True, help_text="Until then a pupil may start. Who has started keeps the whole time."
    )
    allowance = DurationField(
        label="Time allowed",
        shortest=SHORTEST,
        required=False,
        help_text=f"Minutes and seconds. {SECONDS_A_QUESTION} seconds a question is common practice.",
    )
    untimed = forms.BooleanField(
        required=False,
        label="No time limit",
        help_text="Pupils may stop and go on until the closing time. Good for practice.",
    )
    question_seconds = DurationField(
        label="Limit for each question",
        shortest=5,
        required=False,
        help_text="Leave it empty for none. With one, a question is shut so long after it is first seen.",
    )
    closing_cuts = forms.BooleanField(
        required=False,
        label="The closing time also ends sittings that are running",
        help_text="This cuts into extra time. Leave it open unless the room is needed.",
    )
    shuffle_questions = forms.BooleanField(required=False, label="Shuffle the questions for each pupil")
    shuffle_options = forms.BooleanField(required=False, label="Shuffle the options A to E for each pupil")
    feedback = forms.ChoiceField(
        label="The pupil is told the answers", choices=Feedback.choices, widget=forms.RadioSelect
    )

    def __init__(
        self, *args: Any, pupils: Sequence[User], at: datetime, parallel: Sequence[QuestionSet] = (), **kwargs: Any
    ) -> None:
        """``parallel``: the sets that may stand beside this one as Paper 2."""
        super().__init__(*args, **kwargs)
        self.pupils, self.at = pupils, at
        self.fields["only"] = forms.TypedMultipleChoiceField(
            label="Only to",
            choices=[(pupil.pk, pupil.name) for pupil in pupils],
            coerce=int,
            required=False,
            widget=forms.CheckboxSelectMultiple,
            error_messages={"invalid_choice": "A pupil ticked is not in this class now."},
        )
        if parallel:
            self.fields["second_set"] = _second_set(parallel, len(pupils))
        for pupil in pupils:
            self.fields[f"extra-{pupil.pk}"] = forms.IntegerField(
                label=pupil.name,
                min_value=0,
                max_value=MOST_EXTRA,
                initial=pupil.extra_time,
                error_messages={"required": "Write 0 where there is no extra time."},
                widget=forms.NumberInput(attrs={"list": "extra-times"}),
            )

    @property
    def dealt(self) -> list[tuple[int, list[User]]]:
        """Who gets which paper should there be two: the number of each paper, with its pupils by name."""
        pupils = list(enumerate(self.pupils))
        return [(paper, [pupil for place, pupil in pupils if in_turn(place, 2) == paper]) for paper in (1, 2)]

    @property
    def extra_fields(self) -> list[forms.BoundField]:
        return [self[f"extra-{pupil.pk}"] for pupil in self.pupils]

    def clean_only(self) -> list[int]:
        """The pupils ticked; with all of them ticked it goes to the class, and so to those who join it later."""
        ticked = self.cleaned_data["only"]
        return [] if len(ticked) == len(self.pupils) else ticked

    def clean_closes_at(self) -> datetime:
        closes_at = self.cleaned_data["closes_at"]
        if closes_at <= self.at:
            raise forms.ValidationError("This time has passed. Choose a later one.")
        if closes_at > self.at + FARTHEST:
            raise forms.ValidationError("This is more than a year away. Choose an earlier time.")
        return closes_at

    def clean(self) -> None:
        if not self.cleaned_data.get("untimed") and self.cleaned_data.get("allowance", 0) is None:
            self.add_error("allowance", "Write minutes and seconds, for instance 6:00, or choose no time limit.")
        opens_at, closes_at = self.cleaned_data.get("opens_at"), self.cleaned_data.get("closes_at")
        if opens_at and closes_at and closes_at <= opens_at:
            self.add_error("closes_at", "The set would close before it opens. Choose a later time.")

    @property
    def terms(self) -> Terms:
        own = {field: value for field, value in self.cleaned_data.items() if not field.startswith("extra-")}
        if own.pop("untimed"):
            own |= {"allowance": UNTIMED, "closing_cuts": True}
        return Terms(extra_times={pupil.pk: self.cleaned_data[f"extra-{pupil.pk}"] for pupil in self.pupils}, **own)

    @property
    def notices(self) -> list[str]:
        """What to say of times that the clock shows twice."""
        said = [
            said_of_both(self.cleaned_data["opens_at"], later=False),
            said_of_both(self.cleaned_data["closes_at"], later=True),
        ]
        return [notice for notice in said if notice]


def _second_set(parallel: Sequence[QuestionSet], pupils: int) -> forms.TypedChoiceField:
    by_pk = {str(one.pk): one for one in parallel}
    one = [("", "One: everybody has the same questions")]
    first, second = pupils - pupils // 2, pupils // 2
    return forms.TypedChoiceField(
        label="Papers",
        choices=one + [(pk, f"Two: every other pupil gets “{each.title}”") for pk, each in by_pk.items()],
        coerce=by_pk.__getitem__,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        help_text="Two papers are dealt out in turn down the list of names, not by seat: "
        f"Paper 1 to {first} pupil{'' if first == 1 else 's'}, Paper 2 to {second}. Seat pupils so that those side by "
        "side have different papers, and neither can copy from the other.",
        error_messages={"invalid_choice": "This set is not, or no longer, parallel. Choose another, or one paper."},
    )


class ClosingForm(WordedForm):
    closes_at = WallClockField(label="Closes", later=True)

    def __init__(self, *args: Any, assignment: Assignment, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **({"initial": {"closes_at": assignment.closes_at}} | kwargs))
        self.at = at

    def clean_closes_at(self) -> datetime:
        closes_at = self.cleaned_data["closes_at"]
        if closes_at > self.at + FARTHEST:
            raise forms.ValidationError("This is more than a year away. Choose an earlier time.")
        return closes_at
