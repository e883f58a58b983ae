"""A mistake of order: two neighbouring openings exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.marks import Mark
from geometry.mistakes.kind import Ground, Kind, Wrong


def _wrong_order(ground: Ground) -> Iterator[Wrong]:
    k = ground.opening.number
    if k < 2:
        return
    before = ground.paper.opening(k - 1)
    marks: list[Mark] = []
    for hole in ground.marks:
        for layer in hole.layers or ():
            mark = hole
            for opening in (before, ground.opening):
                if layer >> (opening.number - 1) & 1:
                    mark = opening.mirror.mark(mark)
            marks.append(mark._replace(layers=None))
    yield Wrong(marks, k - 2, f"folds {k} and {k - 1} were opened in the wrong order.")


KINDS = (
    Kind(
        "wrong-order",
        "Opened in the wrong order",
        "Two neighbouring folds are opened in the order they were made, not in reverse.",
        "two creases that are neither parallel nor square to each other, or do not commute for other reasons",
        _wrong_order,
    ),
)
