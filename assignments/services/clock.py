"""The one clock by which sittings run: the database's, which every process and machine shares."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import connection

ASK = {
    "postgresql": "SELECT clock_timestamp()",
    "sqlite": "SELECT strftime('%Y-%m-%d %H:%M:%f', 'now')",
}


def database_now() -> datetime:
    """Return the time by the database's clock, in UTC. Ask first thing in a request, before any lock is waited for."""
    with connection.cursor() as cursor:
        cursor.execute(ASK[connection.vendor])
        (now,) = cursor.fetchone()
    return now.astimezone(UTC) if isinstance(now, datetime) else datetime.fromisoformat(now).replace(tzinfo=UTC)
