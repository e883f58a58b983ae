"""Erasing a pupil: everything that any room holds, at once, and nothing kept back."""

from __future__ import annotations

import logging
from datetime import datetime

from django.db import connection, transaction

from accounts import holdings
from accounts.errors import NotAllowedError
from accounts.models import User
from accounts.trail import Deed, record

log = logging.getLogger(__name__)


def erase_pupil(*, pupil: User, by: User, at: datetime) -> None:
    """Remove a pupil with every sitting and answer. All or nothing; sent twice, it happens once."""
    if not by.is_administrator or pupil.school_id != by.school_id or not pupil.is_pupil:
        raise NotAllowedError("Only the school's administrator erases a pupil.")
    number = pupil.pk
    with transaction.atomic():
        found = User.objects.select_for_update().filter(pk=number).first()
        if found is None:
            return
        holdings.erase(found)
        record(Deed.ERASED, by=by, at=at, about={"pupil": number})
        transaction.on_commit(clear_leftovers)
    log.info("pupil %s erased by %s", number, by.pk)


def clear_leftovers() -> None:
    """Have SQLite overwrite its log as well, where erased rows may still be read.

    In its main file they are overwritten at once (secure_delete). PostgreSQL clears up by itself (autovacuum).
    """
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
