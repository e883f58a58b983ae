"""The short form of ``python -m tests.faults``: a class sits while things break, and nothing is lost; planted faults
are found. A site of our own on SQLite, whose web process is what is broken."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from functools import partial
from random import Random

import pytest

from tests.faults import mischief
from tests.faults.browser import Browser
from tests.faults.journal import Journal
from tests.faults.pupil import Pupil
from tests.faults.rounds import play
from tests.faults.stack import FAULTY, Stack, stack
from tests.faults.syncs import replies_after_a_sync, traced


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Iterator[Stack]:
    with stack("sqlite", tmp_path_factory.mktemp("faults"), with_queue=False) as running:
        yield running


def test_nothing_acknowledged_is_lost(site):
    report = play(site, Random(1), pupils=2, seconds=2, only=mischief.kill_web_process, allowed=120)
    assert report.violations == []
    assert report.kept >= 2


@pytest.mark.skipif(shutil.which("strace") is None, reason="there is no strace on this machine (apt install strace)")
def test_what_is_acknowledged_is_on_the_disk(site, tmp_path):
    """SQLite documents that WAL with synchronous=FULL syncs at each commit: here, before each reply (R1)."""
    room = site.practice_class(pupils=1, questions=1, seconds=600)
    [card] = room["pupils"]
    pupil = Pupil(room, card["name"], card["pin"], partial(Browser, site.address), Journal(), Random(4))
    until = time.monotonic() + 60
    pupil.sign_in(until)
    pupil.start(until)
    [process] = site.web.children()
    with traced(process, tmp_path / "calls"):
        for _ in range(8):
            pupil.choose()
    assert replies_after_a_sync(tmp_path / "calls") == (8, 8)


def test_a_planted_fault_is_found(site):
    """Replies that come before the choice is stored, and a server killed in between."""
    site.web.kill()
    site.web.command[-1] = FAULTY
    site.web.environment["PLANTED_FAULT"] = "reply-before-storing"
    site.web.start()
    report = play(site, Random(2), pupils=2, seconds=2, only=mischief.kill_web, allowed=120)
    assert "lost" in {says.split(":")[0] for says in report.violations}
