"""The commands, in the order that help lists them. A command module has ``add_to(subparsers)``, which sets ``run``."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from types import ModuleType

NAMES = ("unfold", "check", "options", "generate", "variants", "draw", "mistakes", "export")


def commands(wanted: str) -> Iterator[ModuleType]:
    """The command of that name alone, since each takes time to load; all of them when there is none such."""
    for name in (wanted,) if wanted in NAMES else NAMES:
        yield import_module(f"geometry.commands.{name}")
