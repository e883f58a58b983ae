"""What a kind of mistake is: a faulty opening, the sentence for it, and what it needs in order to be seen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from geometry.marks import Mark
from geometry.openings import Opening, Paper, Split

Line = tuple[complex, complex]  # a point of the line, and its direction


class Ground(NamedTuple):
    """Where a mistake can be made: the paper, and the holes of the state before fold ``opening.number`` is opened."""

    paper: Paper
    opening: Opening
    splits: Sequence[Split]

    @property
    def marks(self) -> list[Mark]:
        return [split.hole for split in self.splits]

    @property
    def copied(self) -> list[Split]:
        """The holes of which the right opening makes a copy."""
        return [split for split in self.splits if split.copy is not None]

    @property
    def pairs(self) -> list[Split]:
        """The holes through both the paper that stays and the paper that opens out."""
        return [split for split in self.splits if split.is_pair]

    @property
    def is_first(self) -> bool:
        """True before anything has been opened."""
        return self.opening.number == self.paper.count


class Wrong(NamedTuple):
    """What a faulty opening leaves: the holes of the state in which the first ``folds`` folds are still made.

    ``hole`` is the place, among the holes before the opening, of the one it went wrong with (None: with all of them);
    ``line`` the line mirrored in by mistake. Holes off the paper are dropped when ``drop``, else the picture is none.
    """

    marks: Sequence[Mark]
    folds: int
    says: str
    hole: int | None = None
    line: Line | None = None
    drop: bool = False
    before: bool = False


Faulty = Callable[[Ground], Iterator[Wrong]]


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of mistake.

    ``label`` is its name for teachers, ``definition`` what is done wrong, ``needs`` which folds and shapes show it.
    ``faulty`` gives every picture of the mistake that an opening allows.
    """

    name: str
    label: str
    definition: str
    needs: str
    faulty: Faulty


def with_copies(ground: Ground, copies: Iterable[Mark]) -> list[Mark]:
    """The holes that rightly stay, together with wrong copies."""
    return [split.stay for split in ground.splits if split.stay is not None] + list(copies)


def with_one_copy(ground: Ground, changed: Split, copy: Mark) -> list[Mark]:
    """The right result, but for one copy."""
    copies = [copy if split is changed else split.copy for split in ground.splits if split.copy is not None]
    return with_copies(ground, copies)


def copies_of(ground: Ground) -> str:
    """ "The copy was" or "the copies were"; of holes that leave nothing behind, "the hole was" or "the holes were"."""
    if ground.copied and not ground.pairs:
        return holes_of(ground.copied)
    return "the copy was" if len(ground.copied) == 1 else "the copies were"


def holes_of(splits: Sequence[Split]) -> str:
    """ "The hole was" or "the holes were"."""
    return "the hole was" if len(splits) == 1 else "the holes were"


def name_of(mark: Mark, marks: Sequence[Mark]) -> str:
    """How a sentence names a hole among others: "the heart", or "the upper left heart" when there are several."""
    label = mark.cut.label
    alike = [m for m in marks if m.cut.label == label]
    if len(alike) == 1:
        return f"the {label}"
    words = (
        _placed(mark.at.imag, [m.at.imag for m in alike], ("lower", "upper")),
        _placed(mark.at.real, [m.at.real for m in alike], ("left", "right")),
    )
    return " ".join(["the", *filter(None, words), label])


def _placed(value: float, among: Sequence[float], words: tuple[str, str]) -> str:
    low, high = min(among), max(among)
    if high - low < 1e-6:
        return ""
    third = (value - low) / (high - low)
    return words[0] if third < 1 / 3 else words[1] if third > 2 / 3 else "middle"
