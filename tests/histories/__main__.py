"""The long form, by hand: ``python -m tests.histories --first 1 --seeds 100`` lives so many and says what broke.

In a database of its own, made anew; each history is undone. ``DATABASE_URL`` says in which.
"""

from __future__ import annotations

import argparse
import logging
import os
import sys
import time
from collections import Counter


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.histories", description=__doc__)
    parser.add_argument("--first", type=int, default=1, help="the first seed")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--steps", type=int, default=40)
    parser.add_argument("--every", type=int, default=10, help="look over after every so many steps")
    parser.add_argument("--walkers", type=int, default=1, help="adults who go through the site each time")
    parser.add_argument("--of-a-kind", type=int, default=1, help="pages that differ by their number alone")
    options = parser.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    from django.conf import settings
    from django.test.utils import get_runner, setup_test_environment

    setup_test_environment()
    logging.disable(logging.WARNING)  # refusals are told in hundreds
    runner = get_runner(settings)(verbosity=0, interactive=False)
    made = runner.setup_databases()
    try:
        faults = sum(one_history(seed, options) for seed in range(options.first, options.first + options.seeds))
    finally:
        runner.teardown_databases(made)
    print(f"{options.seeds} histories, {faults} faults.")
    return int(faults > 0)


def one_history(seed: int, options: argparse.Namespace) -> int:
    from django.db import transaction

    from tests.histories.live import live

    begun, faults, done = time.monotonic(), 0, Counter[str]()
    kinds = {"walkers": options.walkers, "of_a_kind": options.of_a_kind}
    with transaction.atomic():
        for life, fault in live(seed, steps=options.steps, every=options.every, **kinds):
            if fault:
                faults += 1
                print("FAULT", fault, *life.told[-8:], sep="\n    ", flush=True)
        transaction.set_rollback(True)
    done.update(said for said in life.told if " " not in said)
    print(f"seed {seed}: {life.pages} pages, {time.monotonic() - begun:.0f} s, {dict(done)}", flush=True)
    return faults


if __name__ == "__main__":
    sys.exit(main())
