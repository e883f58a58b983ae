"""``python -m tests.load``: a whole year group starts within ten seconds and answers, nothing being broken on purpose.

    python -m tests.load --pupils 240 --seconds 300                       on PostgreSQL
    python -m tests.load --pupils 60 --seconds 300 --database sqlite

Prints how long starting and answering took, and what the checker of ``tests/faults`` finds, which must be nothing.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from threading import Event as Signal
from threading import Thread

from tests.faults.checker import check
from tests.faults.journal import Journal
from tests.faults.pupil import Pupil
from tests.faults.stack import Stack, stack

STARTING = 10.0  # seconds within which all press Start
PACE = (5.0, 25.0)  # seconds between two deeds of a pupil


def main() -> int:
    parser = argparse.ArgumentParser(prog="tests.load", description=__doc__)
    parser.add_argument("--pupils", type=int, default=240)
    parser.add_argument("--seconds", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--database", choices=["postgresql", "sqlite"], default="postgresql")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="creasemark-load-") as folder:
        Path(folder).chmod(0o755)
        with stack(asked.database, Path(folder)) as site:
            return sit_together(site, asked.pupils, asked.seconds, Random(asked.seed))


def sit_together(site: Stack, pupils: int, seconds: int, lot: Random) -> int:
    room = site.practice_class(pupils=pupils, questions=6, seconds=seconds + 600)
    journal, stop = Journal(), Signal()
    group = [
        Pupil(room, one["name"], one["pin"], site.address, journal, Random(lot.random()), patience=30, pause=PACE)
        for one in room["pupils"]
    ]
    with ThreadPoolExecutor(16) as hands:  # the cards are typed in before: hashing PINs is slow on purpose
        list(hands.map(lambda pupil: pupil.sign_in(time.monotonic() + 600), group))
    threads = [Thread(target=_sit, args=(pupil, stop, lot.uniform(0, STARTING), seconds)) for pupil in group]
    for thread in threads:
        thread.start()
    time.sleep(seconds)
    ended = time.monotonic()
    stop.set()
    for thread in threads:
        thread.join(timeout=120)
    return report(site, room, journal, pupils, ended)


def _sit(pupil: Pupil, stop: Signal, after: float, seconds: int) -> None:
    time.sleep(after)
    try:
        pupil.start(time.monotonic() + 60)
        pupil.sit(stop, time.monotonic() + seconds + 60)
    except Exception as error:  # a thread's end is otherwise silent
        pupil.journal.note(f"{pupil.name} broke off: {error!r}")


def report(site: Stack, room: dict, journal: Journal, pupils: int, ended: float) -> int:
    """What pupils had left without a reply, most of it on purpose, they send again at the end: it tells no time."""
    began = sorted(one.answered_at - one.asked_at for one in journal.begun)
    saved = [one for one in journal.answers if one.said == "saved"]
    took = sorted(one.answered_at - one.sent_at for one in saved if one.answered_at <= ended)
    found = check(journal, site.history(room["assignment"]))
    site.recompute(room["assignment"])
    print(f"{len(began)} of {pupils} started, {_times(began)}; {len(took)} answers saved, {_times(took)}")
    print(f"{len(saved) - len(took)} more, left without a reply until then, were sent again at the end")
    print("; ".join(found) or "nothing lost, nothing double, no time but what is due")
    return int(bool(found) or len(began) < pupils)


def _times(values: list[float]) -> str:
    if not values:
        return "no time measured"
    shares = {"p50": 0.5, "p95": 0.95, "p99": 0.99}
    return " ".join(f"{name} {1000 * values[int(share * (len(values) - 1))]:.0f} ms" for name, share in shares.items())


if __name__ == "__main__":
    sys.exit(main())
