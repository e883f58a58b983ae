"""Take a second factor away from an adult who has lost it, where no other administrator can."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.models import User
from accounts.services.second_factor import has_factor, reset_factor


class Command(BaseCommand):
    help = "Take the second factor away from an adult; at the next sign-in a new one is set up."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", help="the adult's e-mail address")

    def handle(self, *, email: str, **_) -> None:
        user = User.objects.adults().filter(email__iexact=email).select_related("school").first()
        if user is None:
            raise CommandError(f"There is no account with the e-mail address {email}.")
        if not has_factor(user):
            raise CommandError(f"{user.name} has no second factor.")
        reset_factor(user=user, by=None, at=timezone.now())
        self.stdout.write(f"{user.name} is signed out everywhere and has no second factor any more.")
