"""The short form of ``python -m tests.faults``: a class sits while things break, and nothing is lost; planted faults
are found. A site of our own on SQLite, whose web process is what is broken."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest

from tests.faults import mischief
from tests.faults.rounds import play
from tests.faults.stack import FAULTY, Stack, stack

pytestmark = pytest.mark.xdist_group("faults")


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Iterator[Stack]:
    with stack("sqlite", tmp_path_factory.mktemp("faults"), with_queue=False) as running:
        yield running


def test_nothing_acknowledged_is_lost(site):
    report = play(site, Random(1), pupils=2, seconds=2, only=mischief.kill_web_process, allowed=120)
    assert report.violations == []
    assert report.kept >= 2


def test_a_planted_fault_is_found(site):
    """Replies that come before the choice is stored, and a server killed in between."""
    site.web.kill()
    site.web.command[-1] = FAULTY
    site.web.environment["PLANTED_FAULT"] = "reply-before-storing"
    site.web.start()
    report = play(site, Random(2), pupils=2, seconds=2, only=mischief.kill_web, allowed=120)
    assert "lost" in {says.split(":")[0] for says in report.violations}
