"""Remove records that are past their time, school by school, and say what was removed."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand
from django.utils import timezone

from accounts.models import School
from accounts.services.retention import carry_out, plan


class Command(BaseCommand):
    help = "Remove records that are past the periods their schools have set, and say how many."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--preview", action="store_true", help="say what would be removed, and remove nothing")

    def handle(self, *, preview: bool, **_) -> None:
        for school in School.objects.order_by("pk"):
            planned = plan(school=school, at=timezone.now())
            counts = {one.kind.key: one.due for one in planned}
            if not preview:
                counts = carry_out(school=school, at=timezone.now())
            self.stdout.write(f"{school.name}: {'would remove' if preview else 'removed'}")
            for one in planned:
                self.stdout.write(f"  {counts[one.kind.key]:>7}  {one.kind.title} ({one.months} months)")
