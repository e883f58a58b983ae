"""One round: a class sits a set while things break; afterwards everything is up again and the books are compared."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from random import Random
from threading import Event as Signal
from threading import Thread

from tests.faults.browser import Browser
from tests.faults.checker import GRACE, check
from tests.faults.journal import Journal
from tests.faults.mischief import Deed, deeds
from tests.faults.pupil import Pupil
from tests.faults.stack import Stack

PUPILS, QUESTIONS = 8, 4
SHORT, LONG = 5, 120  # seconds of time: up in mid-round, or not
ENOUGH = 8  # answers of each pupil


@dataclass(frozen=True)
class Report:
    done: list[str]
    sent: int
    kept: int
    late: int
    read: int
    violations: list[str]

    def __str__(self) -> str:
        says = "; ".join(self.violations) or "well"
        counted = f"{self.sent} sent, {self.kept} acknowledged ({self.late} late), {self.read} read back"
        return f"{', '.join(self.done):46} {counted}: {says}"


def play(
    stack: Stack,
    lot: Random,
    *,
    pupils: int = PUPILS,
    seconds: float = 5,
    only: Deed | None = None,
    allowed: int | None = None,
) -> Report:
    """Play a round of at least ``seconds`` and report on it.

    One to three deeds of chance are done (``only``: this one); the pupils have ``allowed`` seconds, or by chance few
    or many.
    """
    allowed = allowed or (SHORT if lot.random() < 0.4 else LONG)
    is_short = allowed == SHORT
    room = stack.practice_class(pupils=pupils, questions=QUESTIONS, seconds=allowed)
    journal, stop = Journal(), Signal()
    length = allowed + GRACE + 1.5 if is_short else seconds
    group = [
        Pupil(room, one["name"], one["pin"], partial(Browser, stack.address), journal, Random(lot.random()))
        for one in room["pupils"]
    ]
    threads = [Thread(target=_sit, args=(pupil, stop, length + 40), daemon=True) for pupil in group]
    with ThreadPoolExecutor(pupils) as hands:
        list(hands.map(lambda pupil: pupil.sign_in(time.monotonic() + 30), group))
    for thread in threads:
        thread.start()
    wanted = [only] if only else lot.choices(deeds(stack), k=lot.randint(1, 3))
    moments = sorted(lot.uniform(0.2, length - 1) for _ in wanted)
    done, jumps = _break(stack, lot, wanted, moments)
    _wait(journal, done.pop(0) + length, allowed if is_short else 0, 0 if is_short else ENOUGH * pupils)
    stack.mend()
    stop.set()
    for thread in threads:
        thread.join(timeout=60)
    if any(thread.is_alive() for thread in threads):
        journal.note("a pupil never came to an end")
    history = stack.history(room["assignment"])
    stack.recompute(room["assignment"])
    return _report(journal, history, [f"{allowed} s", *done], jumps)


def _sit(pupil: Pupil, stop: Signal, lasts: float) -> None:
    last = time.monotonic() + lasts
    try:
        pupil.start(last)
        pupil.sit(stop, last)
    except TimeoutError:
        return  # nothing answered for so long that there is nothing to compare
    except Exception as error:  # a thread's end is otherwise silent
        pupil.journal.note(f"{pupil.name} broke off: {error!r}")


def _break(stack: Stack, lot: Random, wanted: list[Deed], moments: list[float]) -> tuple[list, list[float]]:
    """Do each deed at its moment; return when it began and what was done, and the jumps of the clock."""
    began = time.monotonic()
    done, jumps = [began], []
    for deed, moment in zip(wanted, moments, strict=True):
        time.sleep(max(0, began + moment - time.monotonic()))
        changed = deed(stack, lot)
        jumps.append(changed)
        done.append(f"{deed.__name__} {changed:+.0f} s" if changed else deed.__name__)
    return done, jumps


def _wait(journal: Journal, until: float, allowed: int, answers: int) -> None:
    """Until that moment, and on a busy machine up to half a minute more: until so many answers have come, or until the
    time ``allowed`` and the grace are over for whoever began last."""
    while (now := time.monotonic()) < until or now < until + 30:
        over = max((one.answered_at for one in journal.begun), default=now) + allowed + GRACE + 2
        if now >= until and len(journal.answers) >= answers and (not allowed or now > over):
            return
        time.sleep(0.1)


def _report(journal: Journal, history: list[dict], done: list[str], jumps: list[float]) -> Report:
    back = -sum(one for one in jumps if one < 0)
    forward = sum(one for one in jumps if one > 0)
    kept = {answer.sent.client_id for answer in journal.answers if answer.said in ("saved", "late")}
    late = {answer.sent.client_id for answer in journal.answers if answer.said == "late"}
    violations = check(journal, history, set_back=back, put_forward=forward)
    return Report(done, len(journal.sent), len(kept), len(late), len(journal.seen), violations)
