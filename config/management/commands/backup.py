"""Write the whole site, database and files, into one file."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from assignments.services.clock import database_now
from config.backup import BackupError, forget_old, make_backup


class Command(BaseCommand):
    help = "Write a backup of the database and the files into a folder; may run while pupils sit. Prints its path."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="where backups lie; best on another disk, and readable by few")
        parser.add_argument("--keep", type=int, metavar="N", help="afterwards delete all but the newest N there")

    def handle(self, *, folder: Path, keep: int | None, **_) -> None:
        if keep is not None and keep < 1:
            raise CommandError("Keep at least one backup.")
        try:
            path = make_backup(folder, at=database_now())
        except (BackupError, OSError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(str(path))
        for old in forget_old(folder, keep) if keep else ():
            self.stderr.write(f"deleted {old.name}")
