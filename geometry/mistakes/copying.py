"""Mistakes of counting: copies not made, made too often, or made without the original."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.marks import reflection_in
from geometry.mistakes.kind import Ground, Kind, Line, Wrong, holes_of, name_of, with_copies
from geometry.mistakes.lines import middle_lines


def _not_opened(ground: Ground) -> Iterator[Wrong]:
    folds = ground.opening.number - 1
    if ground.copied:
        marks = [split.stay or split.hole._replace(layers=None) for split in ground.splits]
        yield Wrong(marks, folds, _left_as_they_lay(ground))
    for split in ground.splits:
        if split.stay is None and len(ground.copied) > 1:
            others = [m for s in ground.splits if s is not split for m in (s.stay, s.copy) if m is not None]
            left = split.hole._replace(layers=None)
            says = f"{name_of(split.hole, ground.marks)} was left where it lay, though its paper opened out."
            yield Wrong([*others, left], folds, says, ground.splits.index(split))


def _left_as_they_lay(ground: Ground) -> str:
    if len(ground.splits) == 1:
        return "no copy was made; the hole was left as it lay."
    return "no copies were made; the holes were left as they lay."


def _carried(ground: Ground) -> Iterator[Wrong]:
    folds = ground.opening.number - 1
    if ground.pairs:
        marks = [split.copy or split.stay for split in ground.splits]
        says = f"{holes_of(ground.splits)} carried over with the flap, and none was left behind."
        yield Wrong([m for m in marks if m is not None], folds, says)
    for i, split in enumerate(ground.splits):
        if split.copy is None or (split.is_pair and len(ground.pairs) > 1):
            others = [m for s in ground.splits if s is not split for m in (s.stay, s.copy) if m is not None]
            copy = split.copy or ground.opening.mirror.mark(split.hole)
            says = f"{name_of(split.hole, ground.marks)} was carried over with the flap, and none was left behind."
            yield Wrong([*others, copy], folds, says, i)


def _one_missed(ground: Ground) -> Iterator[Wrong]:
    if len(ground.pairs) < 2:
        return
    for i, split in enumerate(ground.splits):
        if split.is_pair:
            copies = [s.copy for s in ground.splits if s is not split and s.copy is not None]
            says = f"{name_of(split.hole, ground.marks)} goes through both layers, but was not copied."
            yield Wrong(with_copies(ground, copies), ground.opening.number - 1, says, i)


def _no_second_layer(ground: Ground) -> Iterator[Wrong]:
    yield from copied_from_one_layer(ground)
    for line in middle_lines(ground.paper, ground.opening.number):
        yield once_more_before(ground, line)
    if ground.opening.number == 1:
        for line in middle_lines(ground.paper, 0):
            yield once_more_after(ground, line)


def copied_from_one_layer(ground: Ground) -> Iterator[Wrong]:
    """Every hole through one layer only that has paper where its copy would come."""
    right = list(ground.opening.open(ground.marks))
    for i, split in enumerate(ground.splits):
        if not split.is_pair:
            extra = split.hole._replace(layers=None) if split.copy else ground.opening.mirror.mark(split.hole)
            says = f"{name_of(split.hole, ground.marks)} goes through one layer only, but was copied."
            yield Wrong([*right, extra], ground.opening.number - 1, says, i)


def once_more_before(ground: Ground, line: Line) -> Wrong:
    """A fold that was never made, in a given line, opened before this one."""
    says = f"first {holes_of(ground.splits)} copied once more, as if there had been another fold."
    if ground.is_first:
        punches = "punch was" if len(ground.splits) == 1 else "punches were"
        says = f"the {punches} copied as if the paper had been folded once more."
    mirror = reflection_in(*line)
    copies = [mirror.mark(mark) for mark in ground.marks]
    number = ground.opening.number
    return Wrong([*ground.marks, *copies], number, says, line=line, drop=True, before=ground.is_first)


def once_more_after(ground: Ground, line: Line) -> Wrong:
    """A fold that was never made, in a given line, opened last of all."""
    marks = ground.opening.open(ground.marks)
    mirror = reflection_in(*line)
    says = "after it, the holes were copied once more, as if there had been another fold."
    return Wrong([*marks, *(mirror.mark(mark) for mark in marks)], 0, says, line=line, drop=True)


KINDS = (
    Kind(
        "one-missed",
        "One copy missed",
        "One hole that goes through both layers gets no copy.",
        "an opening with two holes or more through both layers",
        _one_missed,
    ),
    Kind(
        "carried",
        "Carried over, none left behind",
        "The copy is made and the original left out, as if the hole had gone over with the flap.",
        "a hole through both layers",
        _carried,
    ),
    Kind(
        "not-opened",
        "Left as it lay",
        "The fold is opened, but no copies are made.",
        "a hole through the paper that moved, over paper that stayed",
        _not_opened,
    ),
    Kind(
        "no-second-layer",
        "Copied where there was one layer",
        "A copy is made where only one layer was, or a fold is opened that was never made.",
        "room on the paper for one more copy",
        _no_second_layer,
    ),
)
