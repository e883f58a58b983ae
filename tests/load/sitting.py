"""A pupil of ``tests/faults`` as Locust runs them: same deeds, same journal, each request timed by Locust."""

from __future__ import annotations

import re
import time
from dataclasses import dataclass, field
from functools import partial
from random import Random
from typing import Any

from gevent.event import Event
from gevent.lock import BoundedSemaphore
from locust import User, task
from locust.clients import HttpSession
from locust.exception import StopUser

from tests.faults.browser import Browser, Reply
from tests.faults.journal import Journal
from tests.faults.pupil import Pupil

PATIENCE = 30.0  # seconds until a request counts as lost
TO_START, TO_END = 60.0, 60.0  # seconds for the first pages; and for what was left without a reply, sent again
HANDS = 16  # cards that are typed in at once: hashing PINs is slow on purpose


@dataclass
class Device(Browser):
    """A pupil's browser over Locust's session. Under names of their own are counted requests whose reply is not
    waited for, and those that at the end all send again at once.
    """

    user: Any = None

    def __post_init__(self) -> None:
        self.session = HttpSession(self.address, self.user.environment.events.request, self.user)

    def close(self) -> None:
        self.session.close()

    def _ask(self, method: str, path: str, body: str | None) -> Reply:
        leaves = self.patience < 1
        name = "at the end, together" if self.user.group.over.is_set() else re.sub(r"\d+", "N", path)
        name = "gone before the reply" if leaves else name
        form = {"Content-Type": "application/x-www-form-urlencoded"} if body is not None else {}
        options = {"timeout": self.patience, "allow_redirects": False, "catch_response": True}
        with self.session.request(method, path, name=name, data=body, headers=self.headers | form, **options) as got:
            if leaves or 0 < got.status_code < 400 or got.status_code == 409:  # a refusal with a word of its own
                got.success()
            if not got.status_code:
                raise ConnectionError(got.error)
            return Reply(got.status_code, got.headers.get("Location", ""), got.content)


@dataclass
class Group:
    """All who sit together: signed in before the bell, started within ``starting`` seconds of it, until it is over."""

    room: dict
    lot: Random
    seconds: float
    starting: float
    pause: float  # between two deeds of a pupil, on average
    journal: Journal = field(default_factory=Journal)
    hands: BoundedSemaphore = field(default_factory=partial(BoundedSemaphore, HANDS))
    bell: Event = field(default_factory=Event)
    over: Event = field(default_factory=Event)

    def __post_init__(self) -> None:
        self.cards = list(self.room["pupils"])
        self.still_outside = len(self.cards)

    def come_in(self, pupil: Pupil) -> None:
        """Sign in and wait for the bell, which the last one rings."""
        try:
            with self.hands:
                pupil.sign_in(time.monotonic() + 600)
        finally:
            self.still_outside -= 1
            if not self.still_outside:
                self.bell.set()
        self.bell.wait()


class Sitting(User):
    """Signs in, waits for the bell, starts, and answers until it is over, and is never stopped in mid-deed."""

    group: Group

    def on_start(self) -> None:
        group, card = self.group, self.group.cards.pop()
        lot, device = Random(group.lot.random()), partial(Device, self.host, PATIENCE, user=self)
        pause = (group.pause / 3, group.pause * 5 / 3)
        self.pupil = Pupil(group.room, card["name"], card["pin"], device, group.journal, lot, pause)
        group.come_in(self.pupil)
        self.last = time.monotonic() + group.seconds + TO_END  # by then nothing is left without a reply
        time.sleep(lot.uniform(0, group.starting))

    @task
    def sit(self) -> None:
        try:
            self.pupil.start(time.monotonic() + TO_START)
            self.pupil.sit(self.group.over, self.last)
        except Exception as error:  # Locust would let the pupil begin again
            self.group.journal.note(f"{self.pupil.name} broke off: {error!r}")
        raise StopUser
