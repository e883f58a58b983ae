"""A command about one adult, named by e-mail address."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from accounts.models import User


class AdultCommand(BaseCommand):
    """Finds the adult, and hands them to ``handle_adult``. Raises ``CommandError`` when there is none such."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", help="the adult's e-mail address")

    def handle(self, *, email: str, **_) -> None:
        user = User.objects.adults().filter(email__iexact=email).select_related("school").first()
        if user is None:
            raise CommandError(f"There is no account with the e-mail address {email}.")
        self.handle_adult(user)

    def handle_adult(self, user: User) -> None:
        raise NotImplementedError
