"""A class while it sits a set, as its teacher watches it: who has started, where each is, who is not heard from.

Read in a fixed number of queries, whatever the size of the class. What is shown is coarse (minutes, not seconds), so
that most looks find nothing new, and ``Monitor.digest`` says so before anything is drawn.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cached_property
from hashlib import sha256

from django.db.models import Count, Max, Q

from accounts.models import User
from accounts.names import register_key
from assignments.contact import contacts
from assignments.handing_out import papers_given
from assignments.models import Assignment, Event, Sitting, TimeChange
from assignments.queries import TYPED_LAST, pupils_of
from assignments.time_record import Said, changes_of, said_of
from assignments.timekeeping import Kind

QUIET_AFTER = timedelta(seconds=75)  # a page says that it is there every 15 s, in the background once a minute


class State(StrEnum):
    ABSENT = "absent"
    WORKING = "working"
    QUIET = "quiet"
    BREAK = "break"
    PAUSED = "paused"
    HANDED_IN = "handed_in"
    OVER = "over"
    PAPER = "paper"


@dataclass(frozen=True)
class Watched:
    """One pupil's row: ``minutes_left`` is whole minutes, -1 where none run; ``quiet`` minutes without a sign."""

    pupil: int
    name: str
    state: State
    answered: int = 0
    left: int = 0
    minutes_left: int = -1
    quiet: int = 0
    paper: int = 0  # which of several, 0 where all have the same

    @property
    def seconds_left(self) -> int:
        return 60 * self.minutes_left

    @property
    def asked(self) -> int:
        return self.answered + self.left

    @property
    def is_running(self) -> bool:
        return self.state in (State.WORKING, State.QUIET, State.BREAK, State.PAUSED)


@dataclass(frozen=True)
class Monitor:
    assignment: Assignment
    asked: int
    rows: list[Watched]
    changes: list[TimeChange]  # the latest first
    said: list[Said]  # the same, in words

    @property
    def is_paused(self) -> bool:
        last = next((change for change in self.changes if change.kind in (Kind.PAUSE, Kind.RESUME)), None)
        return last is not None and last.kind == Kind.PAUSE

    def count(self, *states: State) -> int:
        return sum(row.state in states for row in self.rows)

    @property
    def papers(self) -> list[tuple[int, int]]:
        """How many pupils have which paper, where there are several."""
        return sorted(Counter(row.paper for row in self.rows if row.paper).items())

    @property
    def begun(self) -> int:
        return len(self.rows) - self.count(State.ABSENT)

    @property
    def running(self) -> int:
        return sum(row.is_running for row in self.rows)

    @property
    def quiet(self) -> int:
        return self.count(State.QUIET)

    @property
    def ended(self) -> int:
        return self.count(State.HANDED_IN, State.OVER, State.PAPER)

    @cached_property
    def digest(self) -> str:
        """A few letters that change when anything shown does."""
        shown = [asdict(row) for row in self.rows]
        said = json.dumps([shown, [change.pk for change in self.changes], str(self.assignment.closes_at)])
        return sha256(said.encode()).hexdigest()[:16]


def monitor_of(assignment: Assignment, at: datetime) -> Monitor:
    """Return what is to be seen of the class at ``at`` (4 queries, with papers 7, and a look into the cache)."""
    sittings = {sitting.pupil_id: sitting for sitting in assignment.sittings.select_related("pupil").defer("paper")}
    for sitting in sittings.values():
        sitting.assignment = assignment
    pupils = {pupil.pk: pupil for pupil in pupils_of(assignment)}
    pupils |= {pk: sitting.pupil for pk, sitting in sittings.items()}
    asked = assignment.questions.filter(paper=1).count()
    progress, papers = _progress(sittings.values()), papers_given(assignment)
    rows = [
        replace(_row(pupil, sittings.get(pk), asked, progress, at), paper=papers.get(pk, 0))
        for pk, pupil in pupils.items()
    ]
    rows.sort(key=lambda row: (*register_key(row.name), row.pupil))
    changes = changes_of(assignment)
    return Monitor(assignment, asked, rows, changes, said_of(changes))


def _progress(sittings: Iterable[Sitting]) -> dict[int, tuple[int, datetime | None]]:
    """Return of each sitting how many questions have an answer, and when it was last heard from."""
    pks = [sitting.pk for sitting in sittings]
    answered = Count("question", filter=Q(kind=Event.Kind.CHOOSE, is_late=False), distinct=True)
    events = Event.objects.filter(TYPED_LAST, sitting__in=pks).order_by().values("sitting")
    rows = events.annotate(answered=answered, last=Max("received_at"))
    found: dict[int, tuple[int, datetime | None]] = {row["sitting"]: (row["answered"], row["last"]) for row in rows}
    for pk, at in contacts(pks).items():
        count, last = found.get(pk, (0, None))
        found[pk] = count, max(at, last or at)
    return found


def _row(
    pupil: User, sitting: Sitting | None, asked: int, progress: dict[int, tuple[int, datetime | None]], at: datetime
) -> Watched:
    if sitting is None:
        return Watched(pupil.pk, pupil.name, State.ABSENT, left=asked)
    answered, heard = progress.get(sitting.pk, (0, None))
    unheard = at - max(heard or sitting.started_at, sitting.started_at)
    state = _state(sitting, unheard, at)
    quiet = int(unheard.total_seconds() // 60) if state is State.QUIET else 0
    minutes = sitting.seconds_left(at) // 60 if sitting.is_running(at) else -1
    return Watched(pupil.pk, pupil.name, state, answered, asked - answered, minutes, quiet)


def _state(sitting: Sitting, unheard: timedelta, at: datetime) -> State:
    if sitting.is_on_paper:
        return State.PAPER
    if not sitting.is_running(at):
        return State.HANDED_IN if sitting.was_handed_in else State.OVER
    if sitting.is_stopped(at):
        return State.BREAK if sitting.is_on_break else State.PAUSED
    return State.QUIET if unheard > QUIET_AFTER else State.WORKING
