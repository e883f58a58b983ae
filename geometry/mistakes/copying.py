"""Mistakes of counting: copies not made, made too often, or made without the original."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.marks import Mark, reflection_in
from geometry.mistakes.kind import Ground, Kind, Wrong, name_of, with_copies
from geometry.mistakes.lines import middle_lines


def _not_opened(ground: Ground) -> Iterator[Wrong]:
    folds = ground.opening.number - 1
    if ground.copied:
        marks = [split.stay or split.hole._replace(layers=None) for split in ground.splits]
        yield Wrong(marks, folds, "no copies were made; the holes were left as they lay.")
    for split in ground.splits:
        if split.stay is None and len(ground.copied) > 1:
            others = [m for s in ground.splits if s is not split for m in (s.stay, s.copy) if m is not None]
            left = split.hole._replace(layers=None)
            says = f"{name_of(split.hole, ground.marks)} was left where it lay, though its paper opened out."
            yield Wrong([*others, left], folds, says, ground.splits.index(split))


def _carried(ground: Ground) -> Iterator[Wrong]:
    folds = ground.opening.number - 1
    if ground.pairs:
        marks = [split.copy or split.stay for split in ground.splits]
        says = "the holes were carried over with the flap, and none was left behind."
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
    yield from _copied_from_one_layer(ground)
    if ground.is_first:
        says = "the punch was copied as if the paper had been folded once more."
        yield from _opened_once_more(ground, ground.marks, ground.paper.count, says, before=True)
    if ground.opening.number == 1:
        says = "after it, the holes were copied once more, as if there had been another fold."
        yield from _opened_once_more(ground, ground.opening.open(ground.marks), 0, says)


def _copied_from_one_layer(ground: Ground) -> Iterator[Wrong]:
    """Every hole through one layer only that has paper where its copy would come."""
    right = list(ground.opening.open(ground.marks))
    for i, split in enumerate(ground.splits):
        if not split.is_pair:
            extra = split.hole._replace(layers=None) if split.copy else ground.opening.mirror.mark(split.hole)
            says = f"{name_of(split.hole, ground.marks)} goes through one layer only, but was copied."
            yield Wrong([*right, extra], ground.opening.number - 1, says, i)


def _opened_once_more(
    ground: Ground, marks: list[Mark] | tuple[Mark, ...], folds: int, says: str, *, before: bool = False
) -> Iterator[Wrong]:
    for line in middle_lines(ground.paper, folds):
        mirror = reflection_in(*line)
        copies = [mirror.mark(mark) for mark in marks]
        yield Wrong([*marks, *copies], folds, says, line=line, drop=True, before=before)


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
