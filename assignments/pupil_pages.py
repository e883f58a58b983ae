"""What a pupil is shown: their sets, and a question as it stands. Nothing here tells the key, a mistake or a letter
of the version: the browser gets the stem, five pictures in the pupil's own order, and the pupil's own doings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

from accounts.models import User
from assignments.feedback import is_due
from assignments.limits import question_deadline
from assignments.marking import Act, Marks, Outcome, Standing, standings
from assignments.models import AssignedQuestion, Assignment, ExtraTime, Feedback, Sitting
from assignments.papers import LETTERS, Place, option_names, places
from assignments.queries import acts_of, last_running_deadline, stops_of
from assignments.school_time import say_left
from assignments.timekeeping import with_extra
from bank.display import pictures_for
from bank.models import Picture

UNSEEN = tuple(f"version__{name}" for name in ("spec", "options", "checks", "difficulty"))  # large, and not shown here
WORDS = re.compile(r"<(title|desc)>.*?</\1>", re.DOTALL)


class State(StrEnum):
    COMING = "coming"
    OPEN = "open"
    RUNNING = "running"
    DONE = "done"
    MISSED = "missed"


@dataclass(frozen=True)
class PupilSet:
    """An assignment as one pupil has it, at a moment."""

    assignment: Assignment
    sitting: Sitting | None
    state: State
    allowance: int  # seconds, the pupil's extra time included
    seconds_left: int
    is_stopped: bool  # the clock stands, and the questions are hidden
    is_told: bool  # the answers may be shown

    @property
    def will_be_told(self) -> bool:
        return self.assignment.feedback != Feedback.NEVER


def pupil_set(assignment: Assignment, pupil: User, at: datetime) -> PupilSet:
    """Return the assignment (one of ``assignments_for_pupil``) as the pupil has it at ``at``; no query."""
    sitting = next((one for one in assignment.sittings.all() if one.pupil_id == pupil.pk), None)
    extra: list[ExtraTime] = getattr(assignment, "own_extra")  # noqa: B009  (set by the query)
    percent = extra[0].percent if extra else pupil.extra_time
    return PupilSet(
        assignment=assignment,
        sitting=sitting,
        state=_state(assignment, sitting, at),
        allowance=sitting.allowance if sitting else with_extra(assignment.allowance, percent),
        seconds_left=sitting.seconds_left(at) if sitting else 0,
        is_stopped=sitting is not None and sitting.is_stopped(at),
        is_told=sitting is not None and is_due(sitting, last_running_deadline(assignment), at),
    )


def _state(assignment: Assignment, sitting: Sitting | None, at: datetime) -> State:
    if sitting is not None:
        return State.RUNNING if sitting.is_running(at) else State.DONE
    if at < assignment.opens_at:
        return State.COMING
    return State.OPEN if assignment.is_open(at) else State.MISSED


# --- a question -----------------------------------------------------------------------------------------------
@dataclass(frozen=True)
class Spot:
    """One hole of the tape: a question's number, and what the pupil has done with it."""

    number: int
    standing: Standing
    is_here: bool

    @property
    def says(self) -> str:
        """The state in words, for those who hear the page."""
        words = ["answered" if self.standing.choice else "not answered"]
        words += ["to look at again"] if self.standing.is_flagged else []
        return ", ".join(words)

    @property
    def marks(self) -> str:
        """The state as the page's styles and script know it: attributes of its element."""
        return " data-answered" * bool(self.standing.choice) + " data-flagged" * self.standing.is_flagged

    @property
    def flag(self) -> str:
        """What pressing the button for looking again does."""
        return "unflag" if self.standing.is_flagged else "flag"

    @property
    def pressed(self) -> str:
        return "true" if self.standing.is_flagged else "false"


class Option(NamedTuple):
    """A picture under its letter. ``name`` is what the browser sends when it is chosen."""

    letter: str
    name: str
    svg: str
    is_chosen: bool
    is_struck: bool  # ruled out by the pupil

    @property
    def checked(self) -> str:
        """The attribute of its radio button."""
        return " checked" if self.is_chosen else ""

    @property
    def strike(self) -> str:
        """What pressing its button for ruling out does."""
        return "unstrike" if self.is_struck else "strike"

    @property
    def pressed(self) -> str:
        return "true" if self.is_struck else "false"


@dataclass(frozen=True)
class QuestionPage:
    sitting: Sitting
    place: Place
    tape: list[Spot]
    stem: tuple[Picture, ...]
    options: list[Option]
    seconds_left: int
    last_seq: int  # of this device
    question_left: int | None = None  # seconds of this question's own limit, None without one

    @property
    def is_shut(self) -> bool:
        """Whether the choice can no longer be changed: the answer was told, or the question's own time is up."""
        return self.standing.is_locked or self.question_left == 0

    @property
    def here(self) -> Spot:
        return self.tape[self.place.number - 1]

    @property
    def standing(self) -> Standing:
        return self.here.standing

    @property
    def chosen(self) -> str:
        """The browser's name of the option that stands chosen, "" for none."""
        return name_chosen(self.options)

    @property
    def saved(self) -> str:
        return "Saved" if self.chosen else ""

    @property
    def time_words(self) -> str:
        return say_left(self.seconds_left, self.sitting.assignment.is_untimed)

    @property
    def is_last(self) -> bool:
        return self.place.number == len(self.tape)

    @property
    def checks_at_once(self) -> bool:
        return self.sitting.assignment.feedback == Feedback.NOW


def question_page(sitting: Sitting, number: int, at: datetime) -> QuestionPage | None:
    """Return the page of one place of the paper, or ``None`` if there is no such place (3 queries)."""
    paper = places(sitting.paper)
    if not 1 <= number <= len(paper):
        return None
    place = paper[number - 1]
    acts = acts_of([sitting])[sitting.pk]
    standing = standings(acts, sitting.started_at)
    version = AssignedQuestion.objects.select_related("version").defer(*UNSEEN).get(pk=place.question).version
    shown = pictures_for([version], [Picture.Kind.STEM, Picture.Kind.OPTION])[version.pk]
    pictures = map(without_words, shown.in_order(place.order))
    return QuestionPage(
        sitting=sitting,
        place=place,
        tape=tape_of(paper, standing, here=number),
        stem=shown.stem,
        options=options_of(sitting.pk, place, pictures, standing.get(place.question, Standing())),
        seconds_left=sitting.seconds_left(at),
        last_seq=max((act.seq for act in acts if act.epoch == sitting.epoch), default=0),
        question_left=_question_left(sitting, acts, place.question, at),
    )


def _question_left(sitting: Sitting, acts: list[Act], question: int, at: datetime) -> int | None:
    """Return the seconds left of a question's own limit (all of them before the pupil came to it)."""
    limit = sitting.assignment.question_seconds
    if limit is None:
        return None
    due = question_deadline(sitting, acts, question, stops_of([sitting]).get(sitting.pk, ()), at)
    left = (due - at).total_seconds() if due else with_extra(limit, sitting.extra_percent)
    return max(0, int(left))


def tape_of(paper: list[Place], standing: Mapping[int, Standing], *, here: int = 0) -> list[Spot]:
    """Return the tape of the paper; ``here`` is the number of the question on the page, if one is."""
    return [Spot(place.number, standing.get(place.question, Standing()), place.number == here) for place in paper]


def name_chosen(options: list[Option]) -> str:
    """Return the browser's name of the option that stands chosen, "" for none."""
    return next((option.name for option in options if option.is_chosen), "")


class Told(NamedTuple):
    """A question of a paper whose answers may be shown: how it went, and the letter the pupil chose."""

    number: int
    outcome: Outcome
    letter: str


def told_tape(sitting: Sitting, marks: Marks) -> list[Told]:
    """Return how each question went, in the pupil's own order."""
    by_question = {mark.asked.question: mark for mark in marks.each}
    return [
        Told(place.number, by_question[place.question].outcome, place.shown(by_question[place.question].choice))
        for place in places(sitting.paper)
    ]


def options_of(sitting_id: int, place: Place, pictures: Iterable[str], standing: Standing) -> list[Option]:
    """Return the options in the pupil's order, in which ``pictures`` are."""
    return [
        Option(letter, name, picture, own == standing.choice, own in standing.struck)
        for letter, name, own, picture in zip(
            LETTERS, option_names(sitting_id, place), place.order, pictures, strict=True
        )
    ]


def without_words(picture: Picture) -> str:
    """Return the SVG of an option without its words, which name the version's letters."""
    return WORDS.sub("", picture.svg)
