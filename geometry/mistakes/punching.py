"""Mistakes before any opening: the punch in the wrong place, turned, or two shapes swapped."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from geometry.marks import Mark, reflection_in, unit
from geometry.mistakes.kind import Ground, Kind, Wrong, name_of
from geometry.mistakes.lines import middle_of

SHIFTS = (1 / 8, 1 / 6, 1 / 4)  # sheet widths
TINY = 1e-9
SIDES = (1 + 0j, -1 + 0j, 1j, -1j)


def _wrong_punch(ground: Ground) -> Iterator[Wrong]:
    if not ground.is_first:
        return
    middle = middle_of(ground.paper, ground.paper.count)
    for i, mark in _whole(ground):
        for words, along in (("left to right", 1j), ("top to bottom", 1 + 0j)):
            image = reflection_in(middle, along).mark(mark)
            yield _changed(ground, i, image, f"was mirrored {words} on the folded paper.")
            yield _changed(ground, i, mark.moved_to(image.at), f"was put on the other side, {words}.")
        for side in SIDES:
            for shift in SHIFTS:
                yield put_at(ground, i, mark.moved_to(mark.at + side * shift))


def put_at(ground: Ground, i: int, mark: Mark) -> Wrong:
    """A punch put at a given wrong place, the same way round."""
    return _changed(ground, i, mark, f"was put too far {_way(mark.at - ground.splits[i].hole.at)}.")


def mirrored_to(ground: Ground, i: int, mark: Mark) -> Wrong:
    """A punch mirrored within the folded paper."""
    return _changed(ground, i, mark, "was mirrored on the folded paper.")


def _way(shift: complex) -> str:
    """A shift in words: "to the left", "up and to the right"."""
    up = "up" if shift.imag > TINY else "down" if shift.imag < -TINY else ""
    across = "to the right" if shift.real > TINY else "to the left" if shift.real < -TINY else ""
    return " and ".join(filter(None, (up, across)))


def turned_by(ground: Ground, i: int, degrees: float) -> Wrong:
    """A punch turned by 90, 180 or 270 degrees."""
    words = "half round" if degrees == 180 else "a quarter round"
    mark = ground.splits[i].hole.turned(unit(degrees))
    return _changed(ground, i, mark, f"was turned {words} before the paper was opened.")


def _turned_punch(ground: Ground) -> Iterator[Wrong]:
    if not ground.is_first:
        return
    for i, _ in _whole(ground):
        for degrees in (180, 90, 270):
            yield turned_by(ground, i, degrees)


def _whole(ground: Ground) -> Iterator[tuple[int, Mark]]:
    """The holes that no layer's edge cuts: only these can be moved about."""
    return ((i, split.hole) for i, split in enumerate(ground.splits) if split.hole.cut.whole)


def _changed(ground: Ground, i: int, mark: Mark, says: str) -> Wrong:
    marks = [mark if j == i else split.hole for j, split in enumerate(ground.splits)]
    name = name_of(ground.splits[i].hole, ground.marks)
    return Wrong(marks, ground.paper.count, f"{name} {says}", i, before=True)


def _swapped(ground: Ground) -> Iterator[Wrong]:
    if ground.is_first:
        yield from swapped_punches(ground)
    stays = [split.stay for split in ground.splits if split.stay is not None]
    copies = [split.copy for split in ground.splits if split.copy is not None]
    yield from _exchanged(ground, copies, stays, ground.opening.number - 1, "changed places in the copies.")


def swapped_punches(ground: Ground) -> Iterator[Wrong]:
    """Two punches of different shapes, each in the other's place."""
    yield from _exchanged(ground, ground.marks, [], ground.paper.count, "changed places on the folded paper.")


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
