"""Open a school with its first administrator. Everybody else is added from the pages."""

from __future__ import annotations

from argparse import ArgumentParser

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email
from django.db import transaction
from django.utils import timezone

from accounts.errors import AccountsError
from accounts.links import invitation_link
from accounts.models import Role
from accounts.services.people import create_adult, create_school, invite


class Command(BaseCommand):
    help = "Open a school and print the link by which its first administrator sets a password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("school", help="the school's name")
        parser.add_argument("email", help="the administrator's e-mail address")
        parser.add_argument("name", help="the administrator's name")

    def handle(self, *, school: str, email: str, name: str, **_) -> None:
        try:
            validate_email(email)
            number, token = self._open(school, email, name)
        except ValidationError as error:
            raise CommandError(f"{email} is not an e-mail address.") from error
        except AccountsError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{school} has the number {number}.")
        self.stdout.write(f"Within 24 hours, {name} sets a password at\n{invitation_link(token)}")

    @transaction.atomic
    def _open(self, school_name: str, email: str, name: str) -> tuple[int, str]:
        school = create_school(name=school_name)
        person = create_adult(school=school, role=Role.ADMINISTRATOR, email=email, name=name, by=None)
        return school.pk, invite(user=person, by=None, at=timezone.now())
