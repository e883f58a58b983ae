"""Take a second factor away from an adult who has lost it, where no other administrator can."""

from __future__ import annotations

from django.core.management.base import CommandError
from django.utils import timezone

from accounts.management.adult_command import AdultCommand
from accounts.models import User
from accounts.services.second_factor import has_factor, reset_factor


class Command(AdultCommand):
    help = "Take the second factor away from an adult; at the next sign-in a new one is set up."

    def handle_adult(self, user: User) -> None:
        if not has_factor(user):
            raise CommandError(f"{user.name} has no second factor.")
        reset_factor(user=user, by=None, at=timezone.now())
        self.stdout.write(f"{user.name} is signed out everywhere and has no second factor any more.")
