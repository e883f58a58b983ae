"""Mistakes of turning: every copy is in its place, but the wrong way round."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from geometry.marks import Mark
from geometry.mistakes.kind import Ground, Kind, Split, Wrong, copies_of, name_of, with_copies, with_one_copy


def _each_and_all(ground: Ground, turn: Callable[[Split, Mark], Mark], says: str) -> Iterator[Wrong]:
    """The turn done wrongly for all copies, then for one at a time."""
    folds = ground.opening.number - 1
    copied = [(split, split.copy) for split in ground.splits if split.copy is not None]
    if copied:
        copies = [turn(split, copy) for split, copy in copied]
        yield Wrong(with_copies(ground, copies), folds, f"{copies_of(ground)} {says}")
    if len(copied) > 1:
        for split, copy in copied:
            marks = with_one_copy(ground, split, turn(split, copy))
            name = name_of(split.hole, ground.marks)
            moved = f"the copy of {name}" if split.is_pair else name
            yield Wrong(marks, folds, f"{moved} was {says}", ground.splits.index(split))


def _not_turned(ground: Ground) -> Iterator[Wrong]:
    def unturned(split: Split, copy: Mark) -> Mark:
        return copy._replace(u=split.hole.u, flip=split.hole.flip)

    yield from _each_and_all(ground, unturned, "put in the right place, but not turned over.")


def _flipped(ground: Ground) -> Iterator[Wrong]:
    def half_round(split: Split, copy: Mark) -> Mark:
        return copy._replace(u=-copy.u)

    yield from _each_and_all(ground, half_round, "put in the right place, but turned half round.")


KINDS = (
    Kind(
        "not-turned",
        "Right place, not turned over",
        "The copy lies where it should, with the shape as it was before.",
        "a shape that shows turning, its axis not parallel to the crease",
        _not_turned,
    ),
    Kind(
        "flipped",
        "Right place, turned half round",
        "The copy lies where it should, its mirror image turned half round.",
        "a shape that is not its own half-turn",
        _flipped,
    ),
)
