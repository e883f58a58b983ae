"""The answer and the question page when all is as usual: what they ask of the database, written out.

They are what pupils ask for most, many at the same moment, and the ORM takes longer to make its statements than the
database to answer them. Usual is: the pupil whose sitting it is, in a sitting that runs, of a set without limits for
single questions and without feedback after each. Whatever is not usual is not kept or shown here: ``sittings`` keeps
or refuses it, with all its rules.

Nothing is locked between reading and keeping. An event is kept only if the sitting is as it was read, and the sitting's
row is held meanwhile, as by everybody who changes a sitting; where somebody else holds it, nobody waits here. The time
kept is the clock's once the row is held, so a sitting's events have times in the order in which they are stored.
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

# What this database says in its own way.
WORDS = {
    "postgresql": {"now": NOW["postgresql"], "hold": "FOR NO KEY UPDATE SKIP LOCKED"},
    "sqlite": {"now": NOW["sqlite"].replace("%", "%%"), "hold": ""},  # its writers come one after the other
}
LARGEST = 2**63 - 1  # the greatest number that names a row
UNKNOWN = datetime(2000, 1, 1, tzinfo=UTC)  # a time that nobody asks for
READ = """
SELECT {now}, CASE WHEN assignment.closing_cuts THEN assignment.closes_at END,
       sitting.started_at, sitting.given, sitting.paper, sitting.allowance, sitting.epoch, sitting.device,
       assignment.id, assignment.title, assignment.allowance, pupil.id, pupil.password, pupil.name, pupil.rest_breaks,
       session.session_data
FROM assignments_sitting sitting
JOIN accounts_user pupil ON pupil.id = sitting.pupil_id
JOIN assignments_assignment assignment ON assignment.id = sitting.assignment_id
JOIN django_session session ON session.session_key = %s
WHERE sitting.id = %s AND sitting.finished_at IS NULL AND sitting.stopped_at IS NULL
  AND sitting.entered_at IS NULL AND assignment.feedback <> 'now' AND assignment.question_seconds IS NULL
  AND pupil.role = 'pupil' AND pupil.is_active AND session.expire_date > CURRENT_TIMESTAMP
"""
ACTS = """
SELECT version.id, CAST(version.created_at AS text),
       event.question_id, event.kind, event.option, event.epoch, event.seq, event.is_late
FROM assignments_assignedquestion asked
JOIN bank_version version ON version.id = asked.version_id
LEFT JOIN assignments_event event ON event.sitting_id = %s
WHERE asked.id = %s
ORDER BY event.epoch, event.seq
"""
KEEP = """
INSERT INTO assignments_event (sitting_id, question_id, kind, option, client_id, epoch, seq, received_at, is_late)
SELECT held.id, %s, %s, %s, %s, held.epoch, %s, {now}, FALSE
FROM (
    SELECT id, epoch FROM assignments_sitting
    WHERE id = %s AND epoch = %s AND finished_at IS NULL AND stopped_at IS NULL AND entered_at IS NULL
      AND allowance = %s AND given = %s
    {hold}
) held
WHERE {now} <= %s AND NOT EXISTS (SELECT 1 FROM assignments_event WHERE sitting_id = %s AND received_at > {now})
ON CONFLICT DO NOTHING
RETURNING received_at
"""


class AtWork(NamedTuple):
    """A sitting that runs as usual, as one statement found it, and whose it is."""

    sitting: int
    at: datetime  # by the database's clock
    deadline: datetime
    given: timedelta | int  # as the database keeps it
    paper: list[dict]
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


def at_work(session_key: str, sitting: int) -> AtWork | None:
    """Return the sitting, whoever asks: the caller sees to it that the session is its pupil's. ``None``: not usual."""
    if sitting > LARGEST:
        return None
    with connection.cursor() as cursor:
        cursor.execute(_statement(READ, connection.vendor), [session_key, sitting])
        found = cursor.fetchone()
    if found is None:
        return None
    now, closes_at, started_at, given, paper, *rest = found
    allowance, given_time = rest[0], given if isinstance(given, timedelta) else timedelta(microseconds=given)
    due = time_up(_moment(started_at), allowance, given_time)
    deadline = min(due, _moment(closes_at)) if closes_at else due
    at = time_told(now)
    return AtWork(sitting, at, deadline, given, json.loads(paper), *rest) if at <= deadline else None


def acts_at_work(sitting: int, question: int) -> tuple[int, str, list[Act]]:
    """Return the version that a question asks, when it was made (as text), and all that was done in the sitting.

    Not when it was done: no page of a usual sitting tells, and to read so many times takes longer than all the rest.
    """
    with connection.cursor() as cursor:
        cursor.execute(ACTS, [sitting, question])
        rows = cursor.fetchall()
    version, made, *_ = rows[0]
    acts = [
        Act(of, kind, option, epoch, seq, UNKNOWN, is_late)
        for _, _, of, kind, option, epoch, seq, is_late in rows
        if of
    ]
    return version, made, acts


def keep_at_once(found: AtWork, *, place: Place, kind: str, option: str, client_id: UUID, seq: int) -> datetime | None:
    """Keep the event, and return when it was received once it is on the disk.

    ``None``: something has come between, somebody else holds the sitting, time is up, or it is a repeat.
    """
    name = client_id if connection.features.has_native_uuid_field else client_id.hex
    deadline = found.deadline if connection.vendor == "postgresql" else found.deadline.replace(tzinfo=None)
    row: list[Any] = [place.question, kind, option, name, seq]
    unchanged: list[Any] = [found.sitting, found.epoch, found.allowance, found.given, deadline, found.sitting]
    with connection.cursor() as cursor:
        cursor.execute(_statement(KEEP, connection.vendor), row + unchanged)
        kept = cursor.fetchall()  # all, since only then SQLite has committed
    return _moment(kept[0][0]) if kept else None


@cache
def _statement(text: str, vendor: str) -> str:
    return text.format(**WORDS[vendor])


def _moment(found: datetime | str) -> datetime:
    """A time as the database gives it: SQLite keeps text, in UTC."""
    moment = datetime.fromisoformat(found) if isinstance(found, str) else found
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
