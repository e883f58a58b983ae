"""What a sitting holds when something more comes to it: one statement, written out.

It is asked for every choice of every pupil, and the ORM takes longer to make the statement than the database to answer.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import NamedTuple
from uuid import UUID

from django.db import connection

SQL = """
SELECT MAX(received_at),
       MAX(CASE WHEN epoch = %s THEN seq END),
       MAX(CASE WHEN epoch = %s AND seq = %s THEN 1 ELSE 0 END),
       MAX(CASE WHEN question_id = %s AND kind = 'choose' THEN 1 ELSE 0 END),
       MAX(CASE WHEN question_id = %s AND kind = 'lock' THEN 1 ELSE 0 END),
       MAX(CASE WHEN client_id = %s THEN 1 ELSE 0 END)
FROM assignments_event WHERE sitting_id = %s
"""


class SoFar(NamedTuple):
    """What decides whether an event is kept, and where in the order it stands."""

    last: datetime | None  # when the newest of the sitting was received
    last_seq: int | None  # of this device
    is_taken: int | None  # another of this device has this place in the order
    is_chosen: int | None  # the question has a choice
    is_locked: int | None  # the pupil was told its answer
    is_repeat: int | None  # one with this client's id is stored


def so_far(sitting: int, question: int, epoch: int, seq: int | None, client_id: UUID) -> SoFar:
    """Return it; ask while the sitting's row is held."""
    name = client_id if connection.features.has_native_uuid_field else client_id.hex
    with connection.cursor() as cursor:
        cursor.execute(SQL, [epoch, epoch, seq or 0, question, question, name, sitting])  # counts begin at 1
        found = SoFar(*cursor.fetchone())
    if isinstance(found.last, str):  # SQLite keeps times as text, in UTC
        return found._replace(last=datetime.fromisoformat(found.last).replace(tzinfo=UTC))
    return found
