"""Classical item and test statistics, as pure functions of a table of marks.

``marks`` is a persons x items array of 0 and 1 (a question left out counts 0). Nothing here knows names, times or the
database.

Sources: Kuder and Richardson 1937 (KR-20); Kelley 1939 (upper and lower 27 %); Tarrant, Ware and Mohammed 2009 (a
distractor works when at least 5 % choose it); Ebel and Frisbie 1991 (a question whose upper group is less than 0.20
ahead of its lower one is poor; common practice, no published source: the same of its correlation with the rest).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor, sqrt

import numpy as np

TAIL = 0.27  # Kelley's share of the upper and of the lower group
WORKING = 0.05  # a distractor chosen by fewer does no work
POOR = 0.20  # discrimination below this
FEW = 30  # below this many sittings, figures move a lot from one class to the next


@dataclass(frozen=True)
class ItemStatistics:
    """One question's figures. Correlations are None where everybody, or nobody, is right."""

    facility: float
    item_total: float | None
    item_rest: float | None
    upper_lower: float


@dataclass(frozen=True)
class OptionStatistics:
    """One option's figures: how many chose it, their share, and their mean mark on the whole set (None if nobody)."""

    letter: str
    chosen: int
    share: float
    mean_mark: float | None

    @property
    def works(self) -> bool:
        """True when at least 5 % choose it."""
        return self.share >= WORKING


@dataclass(frozen=True)
class SetStatistics:
    """A whole set's figures. ``sd`` divides by n - 1. ``kr20`` is None where all marks are the same."""

    sittings: int
    questions: int
    mean: float
    sd: float
    kr20: float | None

    @property
    def error(self) -> float | None:
        """The standard error of measurement in marks: sd x sqrt(1 - KR-20)."""
        return None if self.kr20 is None else self.sd * sqrt(max(0.0, 1 - self.kr20))


def item_statistics(marks: np.ndarray) -> list[ItemStatistics]:
    """The figures of every item, in the order of the columns. An empty table gives an empty list."""
    if marks.size == 0:
        return []
    marks = marks.astype(float)
    total = marks.sum(axis=1)
    facility = marks.mean(axis=0)
    upper, lower = _tail_weights(total)
    gap = upper @ marks - lower @ marks
    whole, rest = _correlations(marks, total[:, None]), _correlations(marks, total[:, None] - marks)
    return [ItemStatistics(float(facility[i]), whole[i], rest[i], float(gap[i])) for i in range(marks.shape[1])]


def set_statistics(marks: np.ndarray) -> SetStatistics:
    """The figures of a whole set. Raises ``ValueError`` for an empty table."""
    persons, items = marks.shape
    if persons == 0 or items == 0:
        raise ValueError("there are no marks to speak of")
    total = marks.sum(axis=1, dtype=float)
    sd = float(total.std(ddof=1)) if persons > 1 else 0.0
    return SetStatistics(persons, items, float(total.mean()), sd, kr20(marks))


def kr20(marks: np.ndarray) -> float | None:
    """Reliability: k/(k-1) (1 - sum pq / V), with V the variance of the totals divided by n."""
    _, items = marks.shape
    variance = float(marks.sum(axis=1).var())
    if items < 2 or variance == 0:
        return None
    p = marks.mean(axis=0)
    return float(items / (items - 1) * (1 - (p * (1 - p)).sum() / variance))


def option_statistics(chosen: Sequence[str], totals: np.ndarray, letters: str = "ABCDE") -> list[OptionStatistics]:
    """The figures of each option of one question. ``chosen`` has a letter, or "", for each person in ``totals``."""
    column = np.asarray(chosen, dtype=object)
    out = []
    for letter in letters:
        took = column == letter
        count = int(took.sum())
        mean = float(totals[took].mean()) if count else None
        out.append(OptionStatistics(letter, count, count / len(column) if len(column) else 0.0, mean))
    return out


def distractor_efficiency(options: Sequence[OptionStatistics], keys: str) -> float:
    """The share of wrong options that work, from 0 to 1. ``keys`` are the letters that count as right."""
    wrong = [option.works for option in options if option.letter not in keys]
    return sum(wrong) / len(wrong)


def _correlations(marks: np.ndarray, against: np.ndarray) -> list[float | None]:
    """Pearson's r of each column with ``against`` (one column, or one for each)."""
    a = marks - marks.mean(axis=0)
    b = against - against.mean(axis=0)
    spread = np.sqrt((a * a).sum(axis=0) * (b * b).sum(axis=0))
    both = (a * b).sum(axis=0)
    return [float(x / s) if s > 1e-12 else None for x, s in zip(both, spread, strict=True)]


def _tail_weights(total: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Weights that average over the upper and over the lower group.

    Persons tied at a group's edge share the places left, so the order of the table has no effect.
    """
    size = max(1, floor(TAIL * len(total) + 0.5))
    return _top(total, size), _top(-total, size)


def _top(score: np.ndarray, size: int) -> np.ndarray:
    cut = np.sort(score)[-size]
    above, tied = score > cut, score == cut
    return (above + tied * (size - above.sum()) / tied.sum()) / size


# --- what needs attention -----------------------------------------------------------------------------------


LEAST_FOR_FAULTS = 10  # sittings; below this nothing is said to be faulty (our choice)


def faults(
    item: ItemStatistics, options: Sequence[OptionStatistics], keys: str, sittings: int, expected: Mapping[str, float]
) -> list[str]:
    """Plain sentences about a question that does not work; none if it does, or too few sat it to say.

    ``expected`` holds the lowest and highest facility ("low", "high") of its level of difficulty. A facility must
    lie outside by more than two standard errors of its own.
    """
    if sittings < LEAST_FOR_FAULTS:
        return []
    out = _signs(item, options, keys) if sittings >= FEW else []
    error = 2 * sqrt(item.facility * (1 - item.facility) / sittings)
    if item.facility - error > expected["high"]:
        out.append("It is easier than its level of difficulty says.")
    if item.facility + error < expected["low"]:
        out.append("It is harder than its level of difficulty says.")
    return out


def doubts(item: ItemStatistics, options: Sequence[OptionStatistics], keys: str, sittings: int) -> list[str]:
    """Sentences about what would be a fault if more had sat the question.

    Of 25 pupils a correlation has a standard error of about 0.2, so that a good question often seems a poor one; and
    what one in twenty chooses, none of them chooses in 28 of 100 classes.
    """
    return _signs(item, options, keys) if LEAST_FOR_FAULTS <= sittings < FEW else []


def _signs(item: ItemStatistics, options: Sequence[OptionStatistics], keys: str) -> list[str]:
    out = []
    if item.item_rest is not None and item.item_rest < 0:
        out.append("Pupils who do well on the rest get it wrong more often than the others.")
    # Where nearly all, or nearly none, are right the upper group can hardly be ahead of the lower.
    elif (
        item.item_rest is not None
        and item.item_rest < POOR
        and min(item.facility, 1 - item.facility) >= 2 * POOR * TAIL
    ):
        out.append("Pupils who do well on the rest get it right hardly more often than the others.")
    wrong = [option for option in options if option.letter not in keys]
    has_room = 1 - item.facility >= WORKING * len(wrong)  # an easy question leaves its distractors too few pupils
    idle = [option.letter for option in wrong if not option.works]
    if idle and has_room:
        out.append(f"Hardly anybody chooses {' or '.join(idle)}.")
    return out
