"""What a set may be expected to do before anybody sits it: difficulty, time, mistakes covered, key positions. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import mean

from assignments.diagnosis import label_of
from assignments.papers import LETTERS
from bank.models import Version
from geometry.mistakes import KINDS

SECONDS_A_QUESTION = 30  # common practice, no published source


@dataclass(frozen=True)
class Share:
    """A row of a table: its name, how often, and which part of the whole that is; ``says`` explains the name."""

    label: str
    count: int
    share: float
    says: str = ""


@dataclass(frozen=True)
class Outlook:
    """``level`` and ``facility`` are means, None for an empty set; ``seconds`` are to the nearest ten.

    Of ``measured`` questions the time is that of pupils, of ``unmeasured`` ones what is usual.
    """

    level: float | None
    facility: float | None
    seconds: int
    measured: int
    unmeasured: int
    mistakes: tuple[Share, ...]
    keys: tuple[Share, ...]


def outlook_of(versions: Sequence[Version], medians: Mapping[int, float]) -> Outlook:
    """Return the outlook of a set of these versions; ``medians`` are measured seconds by a version's primary key."""
    times = [medians.get(version.pk, SECONDS_A_QUESTION) for version in versions]
    facilities = [v.difficulty["facility"] for v in versions if "facility" in v.difficulty]
    return Outlook(
        level=mean(version.level for version in versions) if versions else None,
        facility=mean(facilities) if facilities else None,
        seconds=round(sum(times) / 10) * 10,
        measured=sum(version.pk in medians for version in versions),
        unmeasured=sum(version.pk not in medians for version in versions),
        mistakes=_mistakes(versions),
        keys=_keys(versions),
    )


def kinds_of(version: Version) -> frozenset[str]:
    """Return the kinds of mistake behind the version's wrong options."""
    return frozenset(mistake["kind"] for option in version.options["options"] for mistake in option["mistakes"])


def _mistakes(versions: Sequence[Version]) -> tuple[Share, ...]:
    """In how many of the questions each mistake is offered, the most frequent first."""
    counts = Counter(kind for version in versions for kind in kinds_of(version))
    rows = sorted(counts.items(), key=lambda pair: (-pair[1], label_of(pair[0])))
    return tuple(
        Share(label_of(kind), count, count / len(versions), KINDS[kind].definition if kind in KINDS else "")
        for kind, count in rows
    )


def _keys(versions: Sequence[Version]) -> tuple[Share, ...]:
    counts = Counter(version.key for version in versions)
    return tuple(Share(letter, counts[letter], counts[letter] / max(len(versions), 1)) for letter in LETTERS)
