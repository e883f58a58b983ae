"""Forty questions of rising difficulty, generated from fixed seeds and tagged by what is in them.

Half are drawn by lot, as for a test; half are teaching sets, whose wrong options show more kinds of mistake.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice
from typing import Any, NamedTuple

from bank.models import Question, State
from bank.services.questions import save_question
from config.demo.people import People
from geometry.generation import TEACHING, generate
from geometry.option_sets import OptionSet
from geometry.spec import Fold, Spec


class Batch(NamedTuple):
    """So many questions of one kind; ``wanted`` goes to the generator as it is."""

    size: int
    wanted: dict[str, Any]


SEED = 40
PLAIN = ("disc", "square", "cross", "star", "rectangle")  # turned half round they look the same
BATCHES = (
    Batch(
        8, {"folds": (2, 2), "punches": (1, 1), "shapes": PLAIN, "creases": ("straight", "diagonal"), "sets": TEACHING}
    ),
    Batch(10, {"folds": (2, 2), "punches": (1, 1)}),
    Batch(6, {"folds": (2, 2), "punches": (2, 2), "sets": TEACHING}),
    Batch(10, {"folds": (3, 3), "punches": (1, 1)}),
    Batch(6, {"folds": (3, 4), "punches": (1, 2), "sets": TEACHING}),
)
NUMBERS = {1: "one", 2: "two", 3: "three", 4: "four"}


def make_questions(*, people: People, say: Callable[[str], object]) -> list[Question]:
    """Save the questions, easiest first, and return them in that order."""
    drawn = sorted(_drawn(), key=lambda pair: (pair[1].difficulty.level, len(pair[0].folds)))
    say(f"Saving {len(drawn)} questions with their pictures")
    teachers = people.teachers
    return [
        save_question(
            school=people.school,
            author=teachers[place % len(teachers)],
            spec=spec,
            option_set=option_set,
            tags=tags_of(spec),
            state=State.READY,
        )
        for place, (spec, option_set) in enumerate(drawn)
    ]


def _drawn() -> Iterator[tuple[Spec, OptionSet]]:
    for place, (size, wanted) in enumerate(BATCHES):
        made = generate(count=2 * size, seed=SEED + place, **wanted)
        yield from islice((pair for pair in made if all(check.ok for check in pair[1].checks())), size)


def tags_of(spec: Spec) -> list[str]:
    """Tags that a teacher might give: how many folds, which shapes, what is special about the creases."""
    tags = [f"{NUMBERS[len(spec.folds)]} folds", *(punch.shape for punch in spec.punches)]
    tags += [way for fold in spec.folds if (way := direction(fold)) != "straight"]
    if any(fold.way == "behind" for fold in spec.folds):
        tags.append("folded behind")
    return list(dict.fromkeys(tags))


def direction(fold: Fold) -> str:
    """How a crease runs: along a side, along a diagonal, or otherwise."""
    a, b = fold.crease or (fold.bring, fold.to)
    assert a is not None and b is not None  # noqa: PT018  (a fold has one form or the other)
    (ax, ay), (bx, by) = a, b
    across, along = abs(ax - bx), abs(ay - by)
    if 0 in (across, along):
        return "straight"
    return "diagonal" if across == along else "oblique"
