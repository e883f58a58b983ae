"""Whether a file was brought to the disk before each reply. Killing a process cannot show it, tracing its calls can:
what was written and not synchronised is lost with the power alone."""

from __future__ import annotations

import re
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CALLS = "trace=fsync,fdatasync,write,writev,sendto,sendmsg"
SYNC = re.compile(r"\b(?:fsync|fdatasync)(?:\(| resumed).*= 0$")
REPLY = re.compile(r'"HTTP/1\.1 200')


@contextmanager
def traced(pid: int, file: Path) -> Iterator[None]:
    """Write the calls of a process into ``file`` while the block runs; by strace."""
    tracer = subprocess.Popen(["strace", "-f", "-q", "-e", CALLS, "-s", "20", "-o", str(file), "-p", str(pid)])
    try:
        while f"TracerPid:\t{tracer.pid}" not in Path(f"/proc/{pid}/status").read_text():
            assert tracer.poll() is None, "strace may not look at this process"
            time.sleep(0.02)
        yield
    finally:
        tracer.send_signal(signal.SIGINT)
        tracer.wait(timeout=20)


def replies_after_a_sync(file: Path) -> tuple[int, int]:
    """Return how many replies went out, and before how many of them something was synchronised since the last one."""
    replies = synced = 0
    since = False
    for line in file.read_text().splitlines():
        if SYNC.search(line):
            since = True
        elif REPLY.search(line):
            replies, synced, since = replies + 1, synced + since, False
    return replies, synced
