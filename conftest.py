"""What tests may need of the machine. Where it is missing they say so and skip; on CI they fail instead."""

from __future__ import annotations

import os
import shutil
import socket
from functools import cache

import pytest


@cache
def answers(port: int) -> bool:
    """Whether something listens on this machine's port."""
    with socket.socket() as line:
        line.settimeout(2)
        return line.connect_ex(("127.0.0.1", port)) == 0


NEEDS = {
    "postgresql": (lambda: answers(5432), "PostgreSQL does not answer on 127.0.0.1:5432"),
    "redis": (lambda: answers(6379), "Redis does not answer on 127.0.0.1:6379"),
    "browser": (
        lambda: shutil.which("chromium"),
        "there is no chromium on this machine (apt install chromium)",
    ),
}


def needs_of(item: pytest.Item) -> list[str]:
    needs = [name for name in NEEDS if item.get_closest_marker(name)]
    if os.environ.get("DATABASE_URL", "").startswith("postgres"):
        needs.append("postgresql")
    return needs


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Races are the database's to decide: their tests run on each, without being told."""
    for item in items:
        marker = item.get_closest_marker("django_db")
        if marker and marker.kwargs.get("transaction"):
            item.add_marker("each_database")


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    for name in needs_of(item):
        is_there, says = NEEDS[name]
        if not is_there():
            (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(says)
