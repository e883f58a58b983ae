"""Which mistakes stand behind wrong choices: counted, ranked, and never more than counted.

A wrong option may stand for two mistakes; then its choice counts for both. Pure: marks in, counts out.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from assignments.marking import Marks
from geometry.mistakes import KINDS, OWN

FEWEST = 10  # answers; below this a pattern is chance as easily as habit (our choice)
Pupil = TypeVar("Pupil", bound=Hashable)


@dataclass(frozen=True)
class MistakeCount(Generic[Pupil]):
    """One kind of mistake: how often it was made, by whom (most often first), and in which questions."""

    kind: str
    count: int
    pupils: tuple[tuple[Pupil, int], ...]
    positions: tuple[int, ...]

    @property
    def label(self) -> str:
        return label_of(self.kind)

    @property
    def definition(self) -> str:
        return KINDS[self.kind].definition if self.kind in KINDS else ""

    @property
    def discs(self) -> range:
        """One for each time, up to a line's worth."""
        return range(min(self.count, 30))


def count_mistakes(marked: Iterable[tuple[Pupil, Marks]]) -> list[MistakeCount[Pupil]]:
    """Return the kinds of mistake behind the wrong choices, the most frequent first."""
    by_pupil: dict[str, Counter[Pupil]] = defaultdict(Counter)
    positions: dict[str, set[int]] = defaultdict(set)
    for pupil, marks in marked:
        for mark in marks.each:
            for kind in sorted({mistake.kind for mistake in mark.mistakes}):
                by_pupil[kind][pupil] += 1
                positions[kind].add(mark.asked.position)
    counts = [
        MistakeCount(kind, pupils.total(), tuple(pupils.most_common()), tuple(sorted(positions[kind])))
        for kind, pupils in by_pupil.items()
    ]
    return sorted(counts, key=lambda count: (-count.count, count.kind))


def label_of(kind: str) -> str:
    """Return a mistake's name for teachers; a kind no longer known is called as it was stored."""
    if kind == OWN:
        return "Made by hand"
    return KINDS[kind].label if kind in KINDS else kind.replace("-", " ").capitalize()


def are_too_few(marked: Iterable[Marks]) -> bool:
    """Whether there are too few answers to judge by."""
    return sum(marks.right + marks.wrong for marks in marked) < FEWEST
