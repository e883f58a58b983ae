"""What tests may need of the machine. Where it is missing they say so and skip; on CI they fail instead."""

from __future__ import annotations

import os
import re
import shutil
import socket
from functools import cache

import pytest
from xdist.remote import Producer
from xdist.scheduler import LoadScopeScheduling


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


# Tests that share something dear to make (a site, a school, drawn sets) run in one process, one group beside another.
TOGETHER = {
    r"tests/browser/.*\[.*postgresql": "browser on PostgreSQL",
    r"tests/browser/": "browser",
    r"tests/test_(demo|production|backup|celery)\.py": "",
    r"tests/faults/": "faults",
    r"tests/geometry/test_(choosing|sisters|option_sets|guessing|generation)\.py": "drawn sets",
    r"tests/geometry/test_(fold_format|pictures_option|pictures_stem|pictures_steps|pictures_svg|words)\.py": "papers",
    r"tests/geometry/": "",
}


def group_of(nodeid: str) -> str:
    """What runs in the same process as this test: the name of its group, or of its file, or the test alone."""
    for pattern, name in TOGETHER.items():
        if re.match(pattern, nodeid):
            return name or nodeid.split("::")[0]
    return nodeid


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> LoadScopeScheduling:
    class ByGroup(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return group_of(nodeid)

    return ByGroup(config, log)


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
