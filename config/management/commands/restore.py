"""Bring a backup back into an empty database."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from config.backup import BackupError, restore_backup


class Command(BaseCommand):
    help = "Bring a backup back, database and files. The database that DATABASE_URL names must be empty."
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("backup", type=Path, help="a file that manage.py backup wrote")

    def handle(self, *, backup: Path, **_) -> None:
        if not backup.is_file():
            raise CommandError(f"There is no file {backup}.")
        try:
            manifest = restore_backup(backup)
        except BackupError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Restored as of {manifest['made_at']}. Now run: manage.py migrate")
