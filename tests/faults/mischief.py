"""What may go wrong: each deed breaks something for a while and mends it, at moments that ``lot`` decides."""

from __future__ import annotations

import os
import resource
import signal
import sqlite3
import time
from collections.abc import Callable
from contextlib import suppress
from random import Random

import psycopg

from tests.faults.engines import faketime
from tests.faults.stack import Stack
from tests.sites import wait_for

Deed = Callable[[Stack, Random], float]  # returns by how many seconds it changed the clock


def kill_web_process(stack: Stack, lot: Random) -> float:
    """One of the processes that answer; the server starts another."""
    with suppress(ProcessLookupError, FileNotFoundError, IndexError):
        os.kill(lot.choice(stack.web.children()), signal.SIGKILL)
    return 0


def kill_web(stack: Stack, lot: Random) -> float:
    stack.web.kill()
    time.sleep(lot.uniform(0, 0.5))
    stack.web.start()
    return 0


def kill_worker(stack: Stack, lot: Random) -> float:
    assert stack.worker is not None
    stack.worker.kill()
    time.sleep(lot.uniform(0, 1))
    stack.worker.start()
    return 0


def kill_queue(stack: Stack, lot: Random) -> float:
    assert stack.queue is not None
    stack.queue.kill()
    time.sleep(lot.uniform(0.2, 2))
    stack.queue.start()
    return 0


def freeze_queue(stack: Stack, lot: Random) -> float:
    """Worse than dead: it takes what is sent and never answers."""
    assert stack.queue is not None
    stack.queue.signal(signal.SIGSTOP)
    time.sleep(lot.uniform(1, 3))
    stack.queue.signal(signal.SIGCONT)
    return 0


def kill_database(stack: Stack, lot: Random) -> float:
    assert stack.database is not None
    stack.database.kill()
    time.sleep(lot.uniform(0, 0.5))
    stack.database.start()
    return 0


def kill_backend(stack: Stack, lot: Random) -> float:
    """One process of the database's: it ends all of them and recovers."""
    assert stack.database is not None
    with suppress(ProcessLookupError, FileNotFoundError, IndexError):
        os.kill(lot.choice(stack.database.children()), signal.SIGKILL)
    return 0


def cut_lines(stack: Stack, lot: Random) -> float:
    for _ in range(lot.randint(1, 6)):
        stack.wire.cut_all()
        time.sleep(lot.uniform(0.02, 0.3))
    return 0


def hold_replies(stack: Stack, lot: Random) -> float:
    """What is sent arrives, and nobody hears that it did."""
    stack.wire.is_deaf = True
    time.sleep(lot.uniform(0.2, 1.5))
    stack.wire.is_deaf = False
    return 0


def jump(stack: Stack, lot: Random) -> float:
    seconds = lot.choice((-60, -3, 3, 60))
    offset = float(stack.clock.file.read_text()) + seconds
    stack.clock.set(offset)
    return seconds


def hold_locks(stack: Stack, lot: Random) -> float:
    """Somebody else has the sittings for a while: what comes meanwhile waits, with the time it came at."""
    seconds = lot.uniform(0.5, 4)
    if stack.database is None:
        with sqlite3.connect(stack.environment["DATABASE_URL"].removeprefix("sqlite://"), isolation_level=None) as line:
            line.execute("BEGIN IMMEDIATE")
            time.sleep(seconds)
            line.execute("ROLLBACK")
        return 0
    wait_for(stack.database.answers, 60)  # one of its processes may have been killed just now
    with psycopg.connect(stack.database.address) as line:
        line.execute("SELECT 1 FROM assignments_sitting FOR UPDATE")
        time.sleep(seconds)
    return 0


def fill_disk(stack: Stack, lot: Random) -> float:
    """No file of the web process may grow any more (RLIMIT_FSIZE): what cannot be stored must not be acknowledged."""
    for pid in stack.web.children():
        with suppress(ProcessLookupError):
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (4096, resource.RLIM_INFINITY))
    time.sleep(lot.uniform(0.5, 1.5))
    for pid in stack.web.children():
        with suppress(ProcessLookupError):
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    return 0


EVERYWHERE: tuple[Deed, ...] = (kill_web_process, kill_web, cut_lines, hold_replies, hold_locks)
WITH_QUEUE: tuple[Deed, ...] = (kill_worker, kill_queue, freeze_queue)
WITH_SERVER: tuple[Deed, ...] = (kill_database, kill_backend)
WITH_FILE: tuple[Deed, ...] = (fill_disk,)


def deeds(stack: Stack) -> tuple[Deed, ...]:
    """What can be done to this site."""
    found = EVERYWHERE + ((jump,) if faketime() else ())
    found += WITH_QUEUE if stack.queue else ()
    return found + (WITH_SERVER if stack.database else WITH_FILE)
