"""A question gone over with the answer known: the choice, the unfolding step by step, and where each option errs.

Only for adults, and for pupils once ``feedback.is_due`` says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from assignments.marking import Mark
from assignments.models import AssignedQuestion
from assignments.papers import LETTERS, Place
from bank.display import option_says, pictures_for
from bank.models import Picture, Version
from geometry.option_sets import Option
from geometry.pictures import Picture as Drawing
from geometry.pictures import draw_marked_option
from geometry.spec import read_spec
from geometry.unfolding import unfold

Draw = Callable[[str, str], Drawing]  # the version's letter, and the letter to call it by


@dataclass(frozen=True)
class PathStep:
    """One opening on an option's way: right, wrong (the first that errs), or after (what came of that)."""

    fold: int
    state: str


@dataclass(frozen=True)
class ReviewedOption:
    letter: str  # as the pupil saw it
    picture: Drawing
    says: str
    path: list[PathStep]
    wrong_fold: int | None
    is_key: bool
    is_choice: bool
    is_struck: bool  # ruled out by the pupil


@dataclass(frozen=True)
class Review:
    version: Version
    place: Place
    mark: Mark
    steps: tuple[Picture, ...]
    options: list[ReviewedOption]

    @property
    def choice(self) -> ReviewedOption | None:
        return next((option for option in self.options if option.is_choice), None)

    @property
    def key(self) -> ReviewedOption:
        return next(option for option in self.options if option.is_key)


def review_of(question: AssignedQuestion, place: Place, mark: Mark) -> Review:
    """Return the review of one answer (1 query). Letters are those under which the pupil saw the options."""
    version = question.version
    return review_of_version(version, place, mark, pictures_for([version], [Picture.Kind.STEP])[version.pk].steps)


def review_of_version(version: Version, place: Place, mark: Mark, steps: tuple[Picture, ...]) -> Review:
    draw = _marker(version)
    options = [
        _reviewed(version, letter, shown, mark, draw) for letter, shown in zip(place.order, LETTERS, strict=True)
    ]
    return Review(version, place, mark, steps, options)


def _marker(version: Version) -> Draw:
    """Return a function that draws an option with its first wrong copy ringed."""
    unfolding = unfold(read_spec(version.spec))
    options = {stored["label"]: Option.from_json(stored) for stored in version.options["options"]}
    return lambda letter, shown: draw_marked_option(unfolding, replace(options[letter], label=shown))


def _reviewed(version: Version, letter: str, shown: str, mark: Mark, draw: Draw) -> ReviewedOption:
    facts = version.options["options"][LETTERS.index(letter)]
    is_right = letter in (mark.asked.accepts or version.key)
    wrong_fold = None if is_right else facts.get("first_wrong_fold")
    return ReviewedOption(
        letter=shown,
        picture=draw(letter, shown),
        says="Right." if is_right and letter != version.key else option_says(version, letter),
        path=_path(version.folds, wrong_fold),
        wrong_fold=wrong_fold,
        is_key=is_right,
        is_choice=letter == mark.choice,
        is_struck=letter in mark.standing.struck,
    )


def _path(folds: int, wrong_fold: int | None) -> list[PathStep]:
    """Return the openings, the last fold first, and how each went."""

    def state(fold: int) -> str:
        if wrong_fold is None or fold > wrong_fold:
            return "right"
        return "wrong" if fold == wrong_fold else "after"

    return [PathStep(fold, state(fold)) for fold in range(folds, 0, -1)]
