"""Sessions kept in the database alone: losing Redis signs nobody out, and signing out holds in every process at once.

Reading one costs a query. What the signature of its text says is remembered, for that very text and no other.
"""

from __future__ import annotations

from copy import deepcopy
from functools import lru_cache
from typing import Any

from django.contrib.sessions.backends.db import SessionStore as DatabaseStore

REMEMBERED = 2000  # texts, each of some hundred bytes


class SessionStore(DatabaseStore):
    def decode(self, session_data: str | bytes) -> dict[str, Any]:
        return deepcopy(_decoded(session_data))


@lru_cache(REMEMBERED)
def _decoded(session_data: str | bytes) -> dict[str, Any]:
    return DatabaseStore().decode(session_data)
