"""One history: a school made, step after step done in it, and every so often all of it looked over."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from random import Random
from unittest.mock import patch

from django.db import transaction

from tests.histories import deeds_bank, deeds_people, deeds_pupils, deeds_sending
from tests.histories.crawl import Fault
from tests.histories.life import Life
from tests.histories.rules import look_over

DEEDS = deeds_bank.DEEDS | deeds_sending.DEEDS | deeds_people.DEEDS | deeds_pupils.DEEDS
AT_FIRST = (*[deeds_bank.new_question] * 4, deeds_bank.new_set)


def live(seed: int, *, steps: int, every: int, walkers: int = 1, of_a_kind: int = 1) -> Iterator[tuple[Life, str]]:
    """Yield after each step what was wrong ("" for nothing); whoever calls undoes it all."""
    life = Life(seed)
    drawn = [patch(f"assignments.services.{name}.SystemRandom", return_value=life.lot) for name in ("sittings", "keys")]
    with drawn[0], drawn[1], heard() as errors:
        for deed in AT_FIRST:
            life.step({deed: 1})
        for number in range(1, steps + 1):
            try:
                with transaction.atomic():
                    life.step(DEEDS)
                if number % every == 0:
                    with transaction.atomic():
                        look_over(life, Random(f"{seed}.{number}"), walkers=walkers, of_a_kind=of_a_kind)
                if errors:
                    raise Fault(f"logged: {errors.pop()}")
            except Fault as fault:
                yield life, f"seed {seed}, step {number}: {fault}"
            else:
                yield life, ""


@contextmanager
def heard() -> Iterator[list[str]]:
    """Hear what is logged as an error."""
    said: list[str] = []
    handler = logging.Handler(logging.ERROR)
    handler.emit = lambda record: said.append(handler.format(record))  # type: ignore[method-assign]
    logging.getLogger().addHandler(handler)
    try:
        yield said
    finally:
        logging.getLogger().removeHandler(handler)
