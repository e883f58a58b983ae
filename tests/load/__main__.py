"""``python -m tests.load``: a whole year group starts within ten seconds and answers, nothing being broken on purpose.

    python -m tests.load --pupils 240 --seconds 300                       on PostgreSQL
    python -m tests.load --pupils 60 --seconds 300 --database sqlite

Locust (https://locust.io) runs the pupils and times each request; its tables are printed, and what the checker of
``tests/faults`` finds, which must be nothing.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path
from random import Random

import gevent
from locust.env import Environment  # before anything of ours: Locust makes threads and sockets give way to one another
from locust.stats import get_error_report_summary, get_percentile_stats_summary, get_stats_summary

from tests.faults.checker import check
from tests.faults.planted import PLANTS
from tests.faults.stack import FAULTY, SOUND, Stack, stack
from tests.load.sitting import TO_END, Group, Sitting


def main() -> int:
    asked = arguments()
    plant = {"PLANTED_FAULT": asked.plant} if asked.plant else {}
    with tempfile.TemporaryDirectory(prefix="creasemark-load-") as folder:
        Path(folder).chmod(0o755)
        with stack(asked.database, Path(folder), program=FAULTY if asked.plant else SOUND, **plant) as site:
            room = site.practice_class(pupils=asked.pupils, questions=6, seconds=asked.seconds + 600)
            group = Group(room, Random(asked.seed), asked.seconds, asked.starting, asked.pause)
            sit_together(site, group)
            return report(site, group, asked.pupils)


def sit_together(site: Stack, group: Group) -> None:
    Sitting.group = group
    environment = Environment(user_classes=[Sitting], host=site.web.address)
    runner = environment.create_local_runner()
    runner.start(len(group.cards), spawn_rate=100)
    group.bell.wait()
    gevent.sleep(group.seconds)
    group.over.set()
    if not runner.user_greenlets.join(2 * TO_END):
        group.journal.note(f"{len(runner.user_greenlets)} pupils never came to an end")
    runner.quit()
    for table in (get_stats_summary(environment.stats, current=False), get_percentile_stats_summary(environment.stats)):
        print("\n".join(table))
    if environment.stats.errors:
        print("\n".join(get_error_report_summary(environment.stats)))


def report(site: Stack, group: Group, pupils: int) -> int:
    journal, history = group.journal, site.history(group.room["assignment"])
    found = check(journal, history)
    site.recompute(group.room["assignment"])
    kept = sum(answer.said == "saved" for answer in journal.answers)
    print(f"{len(journal.begun)} of {pupils} started; {kept} answers called saved, {len(history)} stored")
    print("; ".join(found) or "nothing lost, nothing double, no time but what is due")
    return int(bool(found) or len(journal.begun) < pupils)


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="tests.load", description=__doc__)
    parser.add_argument("--pupils", type=int, default=240)
    parser.add_argument("--seconds", type=int, default=300, help="from the bell, which rings once all are signed in")
    parser.add_argument("--starting", type=float, default=10, help="seconds from the bell within which all press Start")
    parser.add_argument("--pause", type=float, default=15, help="seconds between two deeds of a pupil, on average")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--database", choices=["postgresql", "sqlite"], default="postgresql")
    parser.add_argument("--plant", choices=PLANTS, help="serve with a fault put in, to see that it is found")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
