"""For the pupil, once answers may be told: what went well, and one thing to practise. Facts only, nobody beside.

Pure: marks and the folds of the questions in, sentences out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from assignments.diagnosis import count_mistakes, find_habit
from assignments.marking import Mark, Marks, Outcome

WELL = 0.75  # of two questions or more: this share right is worth saying
# How to do it right, by the kind of mistake, for somebody of ten.
HOW: Mapping[str, tuple[str, str]] = {
    "one-missed": (
        "copying every hole",
        "Count the holes before you open a fold. Each hole through both layers makes two.",
    ),
    "carried": (
        "keeping the hole you had",
        "A hole stays where it is, and its copy comes on the other side of the crease.",
    ),
    "not-opened": (
        "opening every fold",
        "Each time a fold opens, look what comes out on the other side of the crease.",
    ),
    "slid": ("mirroring, not sliding", "A hole near the crease has its copy near the crease; one far away, far away."),
    "from-edge": (
        "measuring from the crease",
        "Measure how far a hole is from the crease, not from the edge of the paper.",
    ),
    "half-turn": (
        "mirroring, not spinning",
        "Join a hole and its copy with your finger: the line crosses the crease squarely.",
    ),
    "not-turned": (
        "turning the shape over",
        "The copy is a mirror image: what points to the crease still points to the crease.",
    ),
    "flipped": (
        "turning the shape the right way",
        "Only the way towards the crease turns round. Up along the crease stays up.",
    ),
    "wrong-order": (
        "opening from the last fold",
        "Open the last fold first, then the one before it, back to the first.",
    ),
    "swapped": ("keeping shapes apart", "Say for each shape where it is before you open the next fold."),
    "turned-punch": (
        "looking how the shape lies",
        "Look again how the shape lies on the folded paper before you open anything.",
    ),
    "wrong-punch": ("looking where the punch is", "Look how far the punch is from two edges before you open anything."),
    "no-second-layer": (
        "counting layers",
        "Ask which paper lies under the hole. Where one layer lay, there is no copy.",
    ),
    "wrong-line": (
        "finding the mirror line",
        "The mirror line is the crease itself. Lay a pencil along it, then mirror.",
    ),
    "wrong-distance": (
        "keeping the same distance",
        "The copy is just as far from the crease as the hole, on the other side.",
    ),
}


@dataclass(frozen=True)
class NextStep:
    """``well`` is a sentence; ``practise`` what to practise, ``how`` a hint, ``question`` where to look (or 0)."""

    well: str
    practise: str = ""
    how: str = ""
    question: int = 0


def next_step(marks: Marks, folds: Mapping[int, int]) -> NextStep:
    """Return what to tell; ``folds`` is how many folds a question has, by its id."""
    well = _went_well(marks, folds)
    kind = find_habit(None, [marks]).kind or next((one.kind for one in count_mistakes([(None, marks)])), "")
    if kind in HOW:
        shown = next(mark for mark in marks.each if kind in {mistake.kind for mistake in mark.mistakes})
        practise, how = HOW[kind]
        return NextStep(well, practise, how, shown.asked.question)
    left = next((mark for mark in marks.each if mark.outcome is Outcome.UNANSWERED), None)
    if left is not None:
        how = "Choose something for every question, and mark those you want to look at again."
        return NextStep(well, "getting to every question", how, left.asked.question)
    return NextStep(well)


def _went_well(marks: Marks, folds: Mapping[int, int]) -> str:
    if marks.right == marks.asked:
        return f"You had all {marks.asked} questions right." if marks.asked > 1 else "You had the question right."
    by_folds: dict[int, list[Mark]] = defaultdict(list)
    for mark in marks.each:
        if mark.outcome is not Outcome.DROPPED:
            by_folds[folds[mark.asked.question]].append(mark)
    for count in sorted(by_folds, reverse=True):
        right = sum(mark.outcome is Outcome.RIGHT for mark in by_folds[count])
        asked = len(by_folds[count])
        if asked > 1 and right / asked >= WELL:
            return f"With {count} fold{'' if count == 1 else 's'} you had {right} of {asked} right."
    if marks.right:
        return f"You had {marks.right} question{'' if marks.right == 1 else 's'} right."
    answered = marks.right + marks.wrong
    return f"You tried {answered} question{'' if answered == 1 else 's'}." if answered else "You looked at the set."
