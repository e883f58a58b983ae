"""Marks, as a pure function of what a pupil did and what was asked: no clock, no database, no chance.

The same acts and questions give the same ``Marks`` and the same bytes of ``Marks.to_bytes`` whenever they are
computed, in whatever order the acts come. The accepted choice with the greatest (epoch, seq) counts; a late one
is kept beside it and does not.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from operator import attrgetter
from typing import Any, NamedTuple

from assignments.timekeeping import NOTHING, Stop


class Act(NamedTuple):
    """Something a pupil did. ``option`` is the version's own letter, whatever stood at A; "" for a flag."""

    question: int
    kind: str  # one of ``Event.Kind``
    option: str
    epoch: int
    seq: int
    received_at: datetime
    is_late: bool


class Mistake(NamedTuple):
    """What a wrong option stands for: the kind, the fold whose opening goes wrong, and a sentence."""

    kind: str
    fold: int
    says: str


@dataclass(frozen=True)
class Asked:
    """A question as marking needs it: its number in the set, the key, and the mistakes behind each option.

    ``ruled`` holds the letters that count as right where a faulty question was ruled on afterwards; "" leaves it out.
    """

    question: int
    position: int
    key: str
    mistakes: Mapping[str, tuple[Mistake, ...]] = field(default_factory=dict)
    ruled: str | None = None

    @property
    def accepts(self) -> str:
        """The letters that count as right; "" for a question left out of the marks."""
        return self.key if self.ruled is None else self.ruled


OPTIONS = 5  # of every question


class Outcome(StrEnum):
    RIGHT = "right"
    WRONG = "wrong"
    UNANSWERED = "unanswered"
    DROPPED = "dropped"  # the question is left out of the marks


BY_SEQUENCE = attrgetter("epoch", "seq")
BY_ARRIVAL = attrgetter("received_at", "epoch", "seq")


@dataclass(slots=True)
class Standing:
    """Where one question stands: the choice that counts, what came too late, what is ruled out, whether flagged."""

    choice: str = ""
    chosen_at: datetime | None = None
    late_choice: str = ""
    changes: int = 0  # accepted choices that differ from the one before
    is_flagged: bool = False
    is_locked: bool = False
    struck: str = ""  # the version's letters ruled out, in order
    opened_at: datetime | None = None  # when the pupil first came to it, where that is noted
    seconds: float = 0.0


class Mark(NamedTuple):
    """The mark of one question. ``choice`` is the version's letter that counts, "" if unanswered."""

    asked: Asked
    outcome: Outcome
    standing: Standing

    @property
    def choice(self) -> str:
        return self.standing.choice

    @property
    def mistakes(self) -> tuple[Mistake, ...]:
        """The mistakes behind a wrong choice; none behind the key or a question left out."""
        return self.asked.mistakes.get(self.choice, ()) if self.outcome is Outcome.WRONG else ()


@dataclass(frozen=True)
class Marks:
    """The marks of one sitting, in the order of the set."""

    each: tuple[Mark, ...]

    @property
    def asked(self) -> int:
        """How many questions count."""
        return len(self.each) - self._count(Outcome.DROPPED)

    @property
    def corrected(self) -> float:
        """The mark corrected for guessing, R - W/(k - 1): what is right, less what blind guessing adds on average.

        Formula scoring; Thurstone, Psychological Bulletin 16 (1919), and Frary, Educational Measurement: Issues and
        Practice 7(2), 33-38 (1988), both cited from memory.
        """
        return self.right - self.wrong / (OPTIONS - 1)

    @property
    def right(self) -> int:
        return self._count(Outcome.RIGHT)

    @property
    def wrong(self) -> int:
        return self._count(Outcome.WRONG)

    @property
    def unanswered(self) -> int:
        return self._count(Outcome.UNANSWERED)

    @property
    def late(self) -> int:
        """How many questions have a choice that came too late to count."""
        return sum(bool(mark.standing.late_choice) for mark in self.each)

    @property
    def seconds(self) -> float:
        return sum(mark.standing.seconds for mark in self.each)

    def _count(self, outcome: Outcome) -> int:
        return sum(mark.outcome is outcome for mark in self.each)

    def to_json(self) -> list[dict[str, Any]]:
        return [_mark_to_json(mark) for mark in self.each]

    def to_bytes(self) -> bytes:
        """Return one canonical form, for comparing a recomputation byte by byte."""
        return json.dumps(self.to_json(), sort_keys=True, separators=(",", ":")).encode()


def mark(acts: Iterable[Act], questions: Sequence[Asked], started_at: datetime, stops: Sequence[Stop] = ()) -> Marks:
    """Return the marks of a sitting that began at ``started_at``, and whose clock stood during ``stops``."""
    standing = standings(acts, started_at, stops)
    each = sorted(questions, key=lambda asked: asked.position)
    return Marks(tuple(_mark_one(asked, standing.get(asked.question) or Standing()) for asked in each))


def standings(acts: Iterable[Act], started_at: datetime, stops: Sequence[Stop] = ()) -> dict[int, Standing]:
    """Return how each question touched stands, by its id."""
    acts = list(acts)
    found = untimed_standings(acts)
    for question, seconds in _seconds(acts, started_at, stops).items():
        found[question].seconds = seconds
    return found


def untimed_standings(acts: Iterable[Act]) -> dict[int, Standing]:
    """Return the same without the time spent on each."""
    found: dict[int, Standing] = defaultdict(Standing)
    for act in sorted(acts, key=BY_SEQUENCE):
        _take(found[act.question], act)
    return dict(found)


def _take(standing: Standing, act: Act) -> None:
    match act.kind:
        case "choose" if not act.is_late:  # by far the most, so they are asked for first
            _choose(standing, act)
        case "choose":
            standing.late_choice = act.option
        case "lock":
            standing.is_locked = True
        case "flag" | "unflag":
            standing.is_flagged = act.kind == "flag"
        case "strike":
            standing.struck = "".join(sorted({*standing.struck, act.option}))
        case "unstrike":
            standing.struck = standing.struck.replace(act.option, "")
        case "open":
            standing.opened_at = min(standing.opened_at or act.received_at, act.received_at)


def _choose(standing: Standing, act: Act) -> None:
    """Take a choice in time; what is chosen is no longer ruled out."""
    standing.changes += standing.choice not in ("", act.option)
    standing.choice, standing.chosen_at = act.option, act.received_at
    standing.late_choice = ""
    if standing.struck:
        standing.struck = standing.struck.replace(act.option, "")


def _seconds(acts: list[Act], started_at: datetime, stops: Sequence[Stop]) -> dict[int, float]:
    """Give the time between two acts to the question of the second: what the pupil was then busy with.

    But where it is noted that the pupil came to a question, the time before was the other question's. Time for which
    the clock stood is nobody's. Acts that waited on a device without network arrive together, and their
    time falls to the first of them.
    """
    spent: dict[int, float] = defaultdict(float)
    before, last = started_at, 0
    for act in sorted(acts, key=BY_ARRIVAL):
        if not act.is_late:
            busy = act.received_at - before
            if stops:
                busy -= sum((stop.within(before, act.received_at) for stop in stops), NOTHING)
            spent[last if act.kind == "open" and last else act.question] += busy.total_seconds()
            before, last = act.received_at, act.question
    return spent


def _mark_one(asked: Asked, standing: Standing) -> Mark:
    accepts = asked.accepts
    if not accepts:
        return Mark(asked, Outcome.DROPPED, standing)
    if not standing.choice:
        return Mark(asked, Outcome.UNANSWERED, standing)
    right = standing.choice in accepts
    return Mark(asked, Outcome.RIGHT if right else Outcome.WRONG, standing)


def _mark_to_json(mark: Mark) -> dict[str, Any]:
    standing = mark.standing
    return {
        "question": mark.asked.question,
        "position": mark.asked.position,
        "key": mark.asked.key,
        "accepts": mark.asked.accepts,
        "choice": mark.choice,
        "outcome": mark.outcome.value,
        "late_choice": standing.late_choice,
        "changes": standing.changes,
        "flagged": standing.is_flagged,
        "struck": standing.struck,
        "seconds": round(standing.seconds, 3),
        "mistakes": [[mistake.kind, mistake.fold] for mistake in mark.mistakes],
    }
