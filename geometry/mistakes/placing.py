"""Mistakes of place: every copy is made, but not where the crease mirrors it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from geometry.marks import Mark, half_turn_about, reflection_in
from geometry.mistakes.kind import Ground, Kind, Line, Wrong, copies_of, with_copies
from geometry.mistakes.lines import beside, direction_name, other_directions


def _moved(ground: Ground, move: Callable[[Mark], Mark], says: str, line: Line | None = None) -> Iterator[Wrong]:
    """The holes that stay, and a wrong copy of each that should be copied."""
    if ground.copied:
        copies = [move(split.hole) for split in ground.copied]
        marks = with_copies(ground, copies)
        yield Wrong(marks, ground.opening.number - 1, says, line=line, drop=line is not None)


def _slid(ground: Ground) -> Iterator[Wrong]:
    shift = ground.opening.normal * ground.opening.width
    says = f"{copies_of(ground)} slid across, not mirrored."
    yield from _moved(ground, lambda hole: hole.moved_to(hole.at + shift), says)


def _half_turn(ground: Ground) -> Iterator[Wrong]:
    turn = half_turn_about(ground.opening.foot)
    says = f"{copies_of(ground)} spun half round about the middle of the crease, not mirrored."
    yield from _moved(ground, turn.mark, says)


def _from_edge(ground: Ground) -> Iterator[Wrong]:
    opening = ground.opening

    def measured(hole: Mark) -> Mark:
        copy = opening.mirror.mark(hole)
        return copy.moved_to(hole.at + opening.normal * opening.width)

    yield from _moved(ground, measured, f"{copies_of(ground)} measured from the edge of the paper, not the crease.")


def _wrong_line(ground: Ground) -> Iterator[Wrong]:
    for name, line in other_directions(ground):
        yield wrong_line(ground, name, line)


def wrong_line(ground: Ground, name: str, line: Line) -> Wrong:
    """The copies mirrored in a given line of another direction."""
    if "diagonal" in name:
        name = "the other diagonal" if "diagonal" in direction_name(ground.opening.along) else "a diagonal"
    else:
        name = f"a {name}"
    says = f"{copies_of(ground)} mirrored in {name} line, not in the crease."
    return _mirrored(ground, line, says)


def _wrong_distance(ground: Ground) -> Iterator[Wrong]:
    for line in beside(ground.opening):
        yield wrong_distance(ground, line)


def wrong_distance(ground: Ground, line: Line) -> Wrong:
    """The copies mirrored in a given line parallel to the crease."""
    far = ground.opening.height(line[0]) > 0
    says = f"{copies_of(ground)} placed too {'far from' if far else 'near'} the crease."
    return _mirrored(ground, line, says)


def _mirrored(ground: Ground, line: Line, says: str) -> Wrong:
    mirror = reflection_in(*line)
    marks = with_copies(ground, [mirror.mark(split.hole) for split in ground.copied])
    return Wrong(marks, ground.opening.number - 1, says, line=line, drop=True)


KINDS = (
    Kind(
        "slid",
        "Slid, not mirrored",
        "The copies are shifted square to the crease by the width of the part that moved, the same way round.",
        "a shape that shows turning, or a hole nearer one edge of the moved part than the other",
        _slid,
    ),
    Kind(
        "from-edge",
        "Measured from the edge",
        "The copies are turned over rightly, but their distance is taken from the paper's edge, not from the crease.",
        "a hole not halfway between the crease and the edge of the moved part",
        _from_edge,
    ),
    Kind(
        "half-turn",
        "Spun round, not mirrored",
        "The copies are turned half round about the middle of the crease.",
        "holes that do not lie evenly about the middle of the crease, or a shape that shows turning",
        _half_turn,
    ),
    Kind(
        "wrong-line",
        "Mirrored in another line",
        "The copies are mirrored in a horizontal, vertical or diagonal line that is not the crease's direction.",
        "room on the paper where the other line puts the copies",
        _wrong_line,
    ),
    Kind(
        "wrong-distance",
        "Mirrored at the wrong distance",
        "The copies are mirrored in a line beside the crease.",
        "room on the paper beside the true copies",
        _wrong_distance,
    ),
)
