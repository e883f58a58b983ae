"""The one clock by which sittings run: the database's, which every process and machine shares."""

from __future__ import annotations

from datetime import UTC, datetime

from django.db import connection

# How the clock is asked within a statement.
NOW = {
    "postgresql": "clock_timestamp()",
    "sqlite": "strftime('%Y-%m-%d %H:%M:%f', 'now')",
}
ASK = {vendor: f"SELECT {now}" for vendor, now in NOW.items()}


def database_now() -> datetime:
    """Return the time by the database's clock, in UTC. Ask first thing in a request, before any lock is waited for."""
    with connection.cursor() as cursor:
        cursor.execute(ASK[connection.vendor])
        (now,) = cursor.fetchone()
    return time_told(now)


def time_told(now: datetime | str) -> datetime:
    """Return in UTC what the database's clock told; SQLite tells it as text."""
    return now.astimezone(UTC) if isinstance(now, datetime) else datetime.fromisoformat(now).replace(tzinfo=UTC)
