"""When a pupil's page was last heard from: kept for an hour, in the cache alone, for whoever watches the sitting.

It decides nothing. Without the cache a page counts as heard from when an answer of it came.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import datetime

from django.core.cache import cache

FOR = 60 * 60  # seconds
log = logging.getLogger(__name__)


def note_contact(sitting: int, at: datetime) -> None:
    try:
        cache.set(_key(sitting), at, FOR)
    except Exception:  # a sitting goes on, whatever the cache does
        log.warning("contact of sitting %s was not noted", sitting)


def contacts(sittings: Iterable[int]) -> dict[int, datetime]:
    """Return when each of these sittings was last heard from, as far as is known."""
    keys = {_key(sitting): sitting for sitting in sittings}
    try:
        return {keys[key]: at for key, at in cache.get_many(keys).items()}
    except Exception:
        log.warning("contacts were not read")
        return {}


def _key(sitting: int) -> str:
    return f"contact:{sitting}"
