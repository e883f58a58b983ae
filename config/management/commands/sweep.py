"""Do what the clock would have done by now, for a site that has no worker; ``make demo`` runs it once."""

from __future__ import annotations

from django.core.management.base import BaseCommand

from accounts.tasks import end_records
from assignments.tasks import forget_prints
from bank.tasks import forget_batches, sweep_pictures
from config.tasks import forget_ended_sessions


class Command(BaseCommand):
    help = "Draw every missing picture, forget ended sessions, old prints and batches, and records past their time."

    def handle(self, **_) -> None:
        forget_ended_sessions()
        end_records()
        forget_prints()
        forget_batches()
        while sweep_pictures():
            pass
