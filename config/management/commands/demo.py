"""Load the demonstration school unless it is there, and say who can sign in."""

from __future__ import annotations

import socket
from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from config.demo import load
from config.demo.cards import cards


class Command(BaseCommand):
    help = "Load the demonstration school unless it is there, and print who can sign in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="where it will be served on 127.0.0.1")

    def handle(self, *, port: int, **_) -> None:
        refuse_taken(port)
        school = load(say=self.stderr.write)
        self.stdout.write(cards(school=school, address=f"http://127.0.0.1:{port}"))


def refuse_taken(port: int) -> None:
    """Say so in a sentence now, rather than after the block that promises an address."""
    with socket.socket() as line:
        line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            line.bind(("127.0.0.1", port))
        except OverflowError as error:
            raise CommandError(f"There is no port {port}; choose one from 1024 to 65535.") from error
        except OSError as error:
            says = f"Port {port} of this machine is taken; choose another, as in: make demo PORT={port % 60000 + 1}"
            raise CommandError(says) from error
