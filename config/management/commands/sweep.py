"""Do what the clock would have done by now, for a site that has no worker; ``make demo`` runs it once."""

from __future__ import annotations

from django.core.management.base import BaseCommand

from accounts.tasks import end_records
from assignments.tasks import count_facilities, forget_prints
from bank.tasks import forget_batches, forget_imports, sweep_pictures
from config.tasks import forget_ended_sessions


class Command(BaseCommand):
    help = (
        "Draw every missing picture, count how questions were answered, "
        "forget ended sessions, old prints, batches, imports and records, then end."
    )

    def handle(self, **_) -> None:
        forget_ended_sessions()
        end_records()
        forget_prints()
        forget_batches()
        forget_imports()
        count_facilities()
        while sweep_pictures():
            pass
