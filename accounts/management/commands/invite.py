"""Make a new link for an adult where no administrator can: theirs is a day old, or their password is forgotten."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from accounts.links import invitation_link
from accounts.models import User
from accounts.services.people import invite


class Command(BaseCommand):
    help = "Print a link by which an adult sets a new password; links made before stop working."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", help="the adult's e-mail address")

    def handle(self, *, email: str, **_) -> None:
        user = User.objects.adults().filter(email__iexact=email).select_related("school").first()
        if user is None:
            raise CommandError(f"There is no account with the e-mail address {email}.")
        if not user.is_active:
            raise CommandError(f"The account of {user.name} is disabled. An administrator of the school enables it.")
        link = invitation_link(invite(user=user, by=None, at=timezone.now()))
        self.stdout.write(f"Within 24 hours, {user.name} ({user.school}) sets a password at\n{link}")
