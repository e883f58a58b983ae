"""Make a new link for an adult where no administrator can: theirs is a day old, or their password is forgotten."""

from __future__ import annotations

from django.core.management.base import CommandError
from django.utils import timezone

from accounts.links import invitation_link
from accounts.management.adult_command import AdultCommand
from accounts.models import User
from accounts.services.people import invite


class Command(AdultCommand):
    help = "Print a link by which an adult sets a new password; links made before stop working."

    def handle_adult(self, user: User) -> None:
        if not user.is_active:
            raise CommandError(f"The account of {user.name} is disabled. An administrator of the school enables it.")
        link = invitation_link(invite(user=user, by=None, at=timezone.now()))
        self.stdout.write(f"Within 24 hours, {user.name} ({user.school}) sets a password at\n{link}")
