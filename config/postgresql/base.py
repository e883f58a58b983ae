"""Django's PostgreSQL, with a cheaper look at a line before it is used than a question to the database."""

from __future__ import annotations

from typing import Any

from django.db.backends.postgresql import base
from psycopg import Connection, OperationalError


class DatabaseWrapper(base.DatabaseWrapper):
    def get_new_connection(self, conn_params: dict[str, Any]) -> Connection:
        """Take a line out of the pool, but none that the database has cut meanwhile, as when it was restarted."""
        while is_cut(line := super().get_new_connection(conn_params)):
            line.close()
            line._pool.putconn(line)  # which then opens another
        return line


def is_cut(line: Connection) -> bool:
    """Whether the other side has hung up: read off the socket, without a round trip.

    The first look takes in what the database said before it hung up, the second finds the end.
    """
    try:
        line.pgconn.consume_input()
        line.pgconn.consume_input()
    except OperationalError:
        return True
    return False
