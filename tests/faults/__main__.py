"""``python -m tests.faults --rounds 50 --seed S``: break a whole site again and again, and look for what was lost.

The seed decides what is broken and when, and what each pupil does; the machine decides how fast. Needs PostgreSQL's
and Redis' programs; engines of its own are started and ended.
"""

from __future__ import annotations

import argparse
import secrets
import signal
import sys
import tempfile
from pathlib import Path
from random import Random

from tests.faults.planted import PLANTS
from tests.faults.rounds import play
from tests.faults.stack import FAULTY, SOUND, stack


def main() -> int:
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(75))  # whoever ends us ends our engines too
    asked = arguments()
    seed = asked.seed if asked.seed is not None else secrets.randbelow(2**32)
    plant = {"PLANTED_FAULT": asked.plant} if asked.plant else {}
    program = FAULTY if asked.plant else SOUND
    print(f"seed {seed}, {asked.rounds} rounds on {asked.database}" + (f", planted: {asked.plant}" * bool(asked.plant)))
    totals = {"sent": 0, "kept": 0, "late": 0, "read": 0, "violations": 0}
    with tempfile.TemporaryDirectory(prefix="creasemark-faults-") as folder:
        Path(folder).chmod(0o755)
        with stack(asked.database, Path(folder), program=program, **plant) as site:
            for number in range(1, asked.rounds + 1):
                report = play(site, Random(f"{seed}:{number}"))
                print(f"{number:3} {report}", flush=True)
                for name in totals:
                    found = getattr(report, name)
                    totals[name] += len(found) if name == "violations" else found
    print(", ".join(f"{name} {count}" for name, count in totals.items()))
    return int(bool(totals["violations"]) != bool(asked.plant))


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="tests.faults", description=__doc__)
    parser.add_argument("--rounds", type=int, default=50)
    parser.add_argument("--seed", type=int, help="prints one of its own if none is given")
    parser.add_argument("--database", choices=["postgresql", "sqlite"], default="postgresql")
    parser.add_argument("--plant", choices=PLANTS, help="serve with a fault put in, to see that it is found")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
