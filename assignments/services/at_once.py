"""The answer and the question page when all is as usual: what they ask of the database, written out.

They are what pupils ask for most, many at the same moment, and the ORM takes longer to make its statements than the
database to answer them. Usual is: the pupil whose sitting it is, in a sitting that runs, of a set without limits for
single questions and without feedback after each. Whatever is not usual is not kept or shown here: ``sittings`` keeps
or refuses it, with all its rules.

What was read of a sitting may be gone by a moment later, by the next request even, for ``keep_at_once`` and ``shown``
look at it again: one statement keeps or shows only where every fact that was read, the session among them, is still
the same. So a session that ended, a new PIN or another device counts from the moment at which it is stored.

Nothing is locked between reading and keeping. While an event is kept its sitting's row is held, as by everybody who
changes a sitting; where somebody else holds it, nobody waits here. The time kept is the clock's once the row is held,
so a sitting's events have times in the order in which they are stored.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection

from assignments.marking import Act
from assignments.papers import Place
from assignments.services.clock import NOW, time_told
from assignments.timekeeping import time_up

LARGEST = 2**63 - 1  # the greatest number that names a row
UNKNOWN = datetime(2000, 1, 1, tzinfo=UTC)  # a time that nobody asks for
# What this database says in its own way.
WORDS = {
    "postgresql": {
        "now": NOW["postgresql"],
        "hold": "FOR NO KEY UPDATE OF sitting SKIP LOCKED",
        "joined": "string_agg",
    },
    "sqlite": {  # its writers come one after the other
        "now": NOW["sqlite"].replace("%", "%%"),
        "hold": "",
        "joined": "group_concat",
    },
}
TABLES = """
FROM assignments_sitting sitting
JOIN accounts_user pupil ON pupil.id = sitting.pupil_id
JOIN assignments_assignment assignment ON assignment.id = sitting.assignment_id
JOIN django_session session ON session.session_key = %s
"""
USUAL = """
WHERE sitting.id = %s AND sitting.finished_at IS NULL AND sitting.stopped_at IS NULL
  AND sitting.entered_at IS NULL AND assignment.feedback <> 'now' AND assignment.question_seconds IS NULL
  AND pupil.role = 'pupil' AND pupil.is_active AND session.expire_date > CURRENT_TIMESTAMP
"""
CLOSES = "CASE WHEN assignment.closing_cuts THEN assignment.closes_at END"
# All that is read, in one text to be compared. A paper never changes (R10): the start stands for it.
FACTS = f"""
session.session_data || ' ' || pupil.id || ' ' || pupil.password || ' ' || pupil.rest_breaks || ' ' ||
sitting.started_at || ' ' || sitting.allowance || ' ' || sitting.given || ' ' || sitting.epoch || ' ' ||
sitting.device || ' ' || assignment.id || ' ' || assignment.allowance || ' ' ||
COALESCE(CAST({CLOSES} AS text), '') || ' ' || assignment.title || ' ' || pupil.name
"""
READ = """
SELECT {now}, {closes}, sitting.started_at, sitting.given, sitting.paper, {facts},
       sitting.allowance, sitting.epoch, sitting.device, assignment.id, assignment.title, assignment.allowance,
       pupil.id, pupil.password, pupil.name, pupil.rest_breaks, session.session_data
{tables} {usual}
"""
SHOW = """
SELECT {now}, version.id, CAST(version.created_at AS text), (
    SELECT {joined}(question_id || ' ' || kind || ' ' || option || ' ' || epoch || ' ' || seq || ' ' ||
                    CASE WHEN is_late THEN 'late' ELSE '' END, ',')
    FROM assignments_event WHERE sitting_id = sitting.id
)
{tables}
JOIN assignments_assignedquestion asked ON asked.id = %s
JOIN bank_version version ON version.id = asked.version_id
{usual} AND {facts} = %s
"""
KEEP = """
INSERT INTO assignments_event (sitting_id, question_id, kind, option, client_id, epoch, seq, received_at, is_late)
SELECT held.id, %s, %s, %s, %s, held.epoch, %s, {now}, FALSE
FROM (SELECT sitting.id, sitting.epoch {tables} {usual} AND {facts} = %s {hold}) held
WHERE {now} <= %s
  AND NOT EXISTS (SELECT 1 FROM assignments_event WHERE sitting_id = held.id AND received_at > {now})
ON CONFLICT DO NOTHING
RETURNING received_at
"""


class AtWork(NamedTuple):
    """A sitting that runs as usual, as one statement found it, and whose it is."""

    session_key: str
    sitting: int
    deadline: datetime
    paper: list[dict]
    facts: str  # all that follows, as the database compares it
    allowance: int
    epoch: int
    device: str
    assignment: int
    title: str
    set_for: int  # seconds, before extra time
    pupil: int
    password: str  # the pupil's, hashed: a session that began under another is over
    name: str
    rest_breaks: bool
    session_data: str

    def seconds_left(self, at: datetime) -> int:
        return int((self.deadline - at).total_seconds())


class Shown(NamedTuple):
    """What a page shows that is not the same from one request to the next."""

    at: datetime
    version: int
    made: str  # when the version was
    acts: list[Act]


def at_work(session_key: str, sitting: int) -> AtWork | None:
    """Return the sitting, whoever asks: the caller sees to it that the session is its pupil's. ``None``: not usual."""
    if sitting > LARGEST:
        return None
    with connection.cursor() as cursor:
        cursor.execute(_statement(READ, connection.vendor), [session_key, sitting])
        row = cursor.fetchone()
    if row is None:
        return None
    now, closes_at, started_at, given, paper, *rest = row
    given_time = given if isinstance(given, timedelta) else timedelta(microseconds=given)
    due = time_up(_moment(started_at), rest[1], given_time)
    deadline = min(due, _moment(closes_at)) if closes_at else due
    return AtWork(session_key, sitting, deadline, json.loads(paper), *rest) if time_told(now) <= deadline else None


def shown(found: AtWork, question: int) -> Shown | None:
    """Return what a question's page shows, and all that was done in the sitting; ``None``: not usual any more.

    Not when it was done: no page of a usual sitting tells.
    """
    with connection.cursor() as cursor:
        asked: list[Any] = [found.session_key, question, found.sitting, found.facts]
        cursor.execute(_statement(SHOW, connection.vendor), asked)
        row = cursor.fetchone()
    if row is None or time_told(row[0]) > found.deadline:
        return None
    now, version, made, acts = row
    return Shown(time_told(now), version, made, [_act(text) for text in acts.split(",")] if acts else [])


def keep_at_once(found: AtWork, *, place: Place, kind: str, option: str, client_id: UUID, seq: int) -> datetime | None:
    """Keep the event, and return when it was received once it is on the disk.

    ``None``: something has come between, somebody else holds the sitting, time is up, or it is a repeat.
    """
    name = client_id if connection.features.has_native_uuid_field else client_id.hex
    deadline = found.deadline if connection.vendor == "postgresql" else found.deadline.replace(tzinfo=None)
    event: list[Any] = [place.question, kind, option, name, seq]
    unchanged = [found.session_key, found.sitting, found.facts, deadline]
    with connection.cursor() as cursor:
        cursor.execute(_statement(KEEP, connection.vendor), event + unchanged)
        kept = cursor.fetchall()  # all, since only then SQLite has committed
    return _moment(kept[0][0]) if kept else None


def _act(text: str) -> Act:
    question, kind, option, epoch, seq, late = text.split(" ")
    return Act(int(question), kind, option, int(epoch), int(seq), UNKNOWN, bool(late))


@cache
def _statement(text: str, vendor: str) -> str:
    return text.format(tables=TABLES, usual=USUAL, closes=CLOSES, facts=FACTS, **WORDS[vendor])


def _moment(found: datetime | str) -> datetime:
    """A time as the database gives it: SQLite keeps text, in UTC."""
    moment = datetime.fromisoformat(found) if isinstance(found, str) else found
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
