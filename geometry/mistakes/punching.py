"""Mistakes before any opening: the punch in the wrong place, turned, or two shapes swapped."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from geometry.marks import Mark, reflection_in, unit
from geometry.mistakes.kind import Ground, Kind, Wrong, name_of
from geometry.mistakes.lines import middle_of

SHIFTS = (1 / 8, 1 / 6, 1 / 4)  # sheet widths
SIDES = {"to the right": 1 + 0j, "to the left": -1 + 0j, "up": 1j, "down": -1j}


def _wrong_punch(ground: Ground) -> Iterator[Wrong]:
    if not ground.is_first:
        return
    middle = middle_of(ground.paper, ground.paper.count)
    for i, mark in _whole(ground):
        for words, along in (("left to right", 1j), ("top to bottom", 1 + 0j)):
            image = reflection_in(middle, along).mark(mark)
            yield _changed(ground, i, image, f"was mirrored {words} on the folded paper.")
            yield _changed(ground, i, mark.moved_to(image.at), f"was put on the other side, {words}.")
        for words, side in SIDES.items():
            for shift in SHIFTS:
                yield _changed(ground, i, mark.moved_to(mark.at + side * shift), f"was put too far {words}.")


def _turned_punch(ground: Ground) -> Iterator[Wrong]:
    if not ground.is_first:
        return
    for i, mark in _whole(ground):
        for degrees, words in ((180, "half round"), (90, "a quarter round"), (270, "a quarter round")):
            yield _changed(ground, i, mark.turned(unit(degrees)), f"was turned {words} before the paper was opened.")


def _whole(ground: Ground) -> Iterator[tuple[int, Mark]]:
    """The holes that no layer's edge cuts: only these can be moved about."""
    return ((i, split.hole) for i, split in enumerate(ground.splits) if split.hole.cut.whole)


def _changed(ground: Ground, i: int, mark: Mark, says: str) -> Wrong:
    marks = [mark if j == i else split.hole for j, split in enumerate(ground.splits)]
    name = name_of(ground.splits[i].hole, ground.marks)
    return Wrong(marks, ground.paper.count, f"{name} {says}", i, before=True)


def _swapped(ground: Ground) -> Iterator[Wrong]:
    holes = ground.marks
    if ground.is_first:
        yield from _exchanged(ground, holes, [], ground.paper.count, "changed places on the folded paper.")
    stays = [split.stay for split in ground.splits if split.stay is not None]
    copies = [split.copy for split in ground.splits if split.copy is not None]
    yield from _exchanged(ground, copies, stays, ground.opening.number - 1, "changed places in the copies.")


def _exchanged(ground: Ground, marks: list[Mark], others: list[Mark], folds: int, says: str) -> Iterator[Wrong]:
    for p, q in combinations(range(len(marks)), 2):
        first, second = marks[p], marks[q]
        if first.cut.name == second.cut.name or not (first.cut.whole and second.cut.whole):
            continue
        swapped = list(marks)
        swapped[p] = second.moved_to(first.at)
        swapped[q] = first.moved_to(second.at)
        both = f"{name_of(first, marks)} and {name_of(second, marks)}"
        yield Wrong([*others, *swapped], folds, f"{both} {says}", before=folds == ground.paper.count)


KINDS = (
    Kind(
        "swapped",
        "Shapes swapped",
        "Two different shapes change places, in the copies or at the punch.",
        "two punches of different shapes",
        _swapped,
    ),
    Kind(
        "turned-punch",
        "Punch turned",
        "The punch's shape is turned a quarter or half round before any opening.",
        "a shape that shows turning",
        _turned_punch,
    ),
    Kind(
        "wrong-punch",
        "Punch in the wrong place",
        "The punch is shifted, or mirrored within the folded outline, before any opening.",
        "room on the folded paper",
        _wrong_punch,
    ),
)
