"""What the simulated pupils saw, written down as it happened: the only thing that the checker believes."""

from __future__ import annotations

from dataclasses import dataclass, field
from threading import Lock
from typing import NamedTuple


class Sent(NamedTuple):
    """One thing a pupil did, as it went out. ``option`` is the page's own name for a picture."""

    sitting: int
    client_id: str
    epoch: int
    seq: int
    place: int
    kind: str
    option: str


class Answer(NamedTuple):
    """A reply that was read to its end: ``said`` is ``saved``, ``late`` or the word of a refusal."""

    sent: Sent
    sent_at: float  # monotonic seconds, both
    answered_at: float
    said: str


class Begun(NamedTuple):
    """A sitting as it was begun: asked for and answered at these (monotonic) seconds, with this time allowed."""

    sitting: int
    pupil: str
    asked_at: float
    answered_at: float
    seconds: int


class Seen(NamedTuple):
    """A question page read back: which option stood chosen, and which were asked for by then, the newest last."""

    sitting: int
    place: int
    chosen: str
    options: tuple[str, ...]
    possible: frozenset[str]  # what may stand there: the last acknowledged, or any sent since and not answered


@dataclass
class Journal:
    """All that happened in one round; pupils in many threads write into it."""

    sent: list[Sent] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    begun: list[Begun] = field(default_factory=list)
    seen: list[Seen] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)  # answers that no pupil should ever get
    _lock: Lock = field(default_factory=Lock)

    def note(self, what: Sent | Answer | Begun | Seen | str) -> None:
        kept = {Sent: self.sent, Answer: self.answers, Begun: self.begun, Seen: self.seen, str: self.odd}[type(what)]
        with self._lock:
            kept.append(what)  # type: ignore[arg-type]
