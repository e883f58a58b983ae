"""The load, small and hurried: what it notes down is enough to find an answer that was lost, and one kept twice."""

from __future__ import annotations

import re
import subprocess
import sys

from tests.sites import ROOT

SMALL = "--pupils 2 --seconds 4 --starting 0.2 --pause 0.2 --database sqlite"


def test_the_load_finds_what_is_lost_and_what_is_kept_twice() -> None:
    command = [sys.executable, "-m", "tests.load", *SMALL.split(), "--plant", "store-amiss"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert "2 of 2 started" in done.stdout, done.stderr
    assert {"lost", "invented"} <= set(re.findall(r"(?:^|; )(\w+): ", done.stdout, re.M))
    assert done.returncode == 1
