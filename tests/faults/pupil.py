"""A simulated pupil: signs in, starts, chooses, and writes down every reply that arrived. Whatever gets no reply is
sent again under the same name, as the question page's script does."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from random import Random
from threading import Event as Signal
from uuid import UUID

from tests.faults.browser import LOST, Browser, Reply
from tests.faults.journal import Answer, Begun, Journal, Seen, Sent

OPTION = re.compile(r'name="option" value="([0-9a-f]+)"( checked)?')
EPOCH = re.compile(r'data-epoch="(\d+)"')
SITTING = re.compile(r"/sitting/(\d+)/")


@dataclass
class Pupil:
    """``room`` is what ``manage.py practice_class`` printed; ``lot`` decides everything that is left to chance."""

    room: dict
    name: str
    pin: str
    new_browser: Callable[[], Browser]  # one for each device the pupil sits at
    journal: Journal
    lot: Random
    pause: tuple[float, float] = (0.02, 0.2)  # seconds between two deeds
    browser: Browser = field(init=False)
    sitting: int = 0
    epoch: int = 0
    seq: int = 0
    options: dict[int, tuple[str, ...]] = field(default_factory=dict)
    sent: list[tuple[Sent, str]] = field(default_factory=list)  # each with what was said, "" if nothing was
    _went_out: dict[str, float] = field(default_factory=dict)  # when each first did, by its client id

    def __post_init__(self) -> None:
        self.browser = self.new_browser()

    # --- before the first choice ------------------------------------------------------------------------------
    def sign_in(self, until: float) -> None:
        card = {"code": self.room["class_code"], "name": self.name, "pin": self.pin}
        self._until(until, lambda: self.browser.get(self.room["paths"]["sign_in"]), 200)
        self._until(until, lambda: self.browser.post(self.room["paths"]["sign_in"], card), 302)

    def start(self, until: float) -> None:
        """Start, or carry on as another device; then look at every question once, as the page's script does."""
        path = self.room["paths"]["start"]
        self._until(until, lambda: self.browser.get(path), 200)
        asked_at = time.monotonic()
        reply = self._until(until, lambda: self.browser.post(path, {}), 302)
        first = self.sitting == 0
        self.sitting = int(SITTING.search(reply.location)[1])  # type: ignore[index]
        if first:
            self.journal.note(Begun(self.sitting, self.name, asked_at, time.monotonic(), self.room["seconds"]))
        page = next(self._tries(until, lambda: self.browser.get(reply.location)), None)
        if page is None or page.status != 200:
            return  # time was up before the first page came
        self.epoch, self.seq = int(EPOCH.search(page.text)[1]), 0  # type: ignore[index]
        for place in range(1, self.room["questions"] + 1):
            self.look_at(place, until)

    # --- the sitting ------------------------------------------------------------------------------------------
    def sit(self, stop: Signal, last: float) -> None:
        """Choose until told to stop, then see to it by ``last`` that nothing is left without a reply."""
        while self.options and not stop.is_set():  # none: time was up before the first page came
            self._deed()
            stop.wait(self.lot.uniform(*self.pause))
        for sent, said in list(self.sent):
            if not said:
                self._deliver(sent, last)

    def _deed(self) -> None:
        deeds = (self.choose, self._choose_twice, self._out_of_order, self._abandon, self._take_over, self._read_back)
        (deed,) = self.lot.choices(deeds, weights=(12, 3, 2, 3, 0.3, 3))
        deed()

    def choose(self) -> None:
        self._deliver(self._next(), time.monotonic() + 3)

    def _choose_twice(self) -> None:
        """The same again must be answered the same; the same name with something else in it is refused."""
        sent = self._next()
        said = self._deliver(sent, time.monotonic() + 3)
        if said not in ("saved", "late"):
            return
        if (again := self._try(sent)) not in (said, "", "other_device"):
            self.journal.note(f"a repeat was answered {again}, the first time {said}")
        other = next(name for name in self.options[sent.place] if name != sent.option)
        if (changed := self._try(sent._replace(option=other))) not in ("changed_repeat", "", "other_device"):
            self.journal.note(f"a changed repeat was answered {changed}")

    def _out_of_order(self) -> None:
        first, second = self._next(), self._next()
        second = second._replace(place=first.place, option=self.lot.choice(self.options[first.place]))
        self._deliver(second, time.monotonic() + 3)
        self._deliver(first, time.monotonic() + 3)

    def _abandon(self) -> None:
        """Send and go away before the reply: it may be stored or not, and is sent again at the end."""
        sent = self._next()
        self._write_down(sent, "")
        patience, self.browser.patience = self.browser.patience, 0.001
        self.browser.close()
        self._try(sent)
        self.browser.patience = patience
        self.browser.close()

    def _take_over(self) -> None:
        """Another device: a new session, the next epoch; what the old one sends afterwards is refused."""
        old, self.browser = self.browser, self.new_browser()
        try:
            self.sign_in(time.monotonic() + 5)
            epoch = self.epoch
            self.start(time.monotonic() + 5)
        except (TimeoutError, TypeError):  # no reply in all that time, or the sitting is over
            self.browser.close()
            self.browser = old
            return
        late_comer = self._next()._replace(epoch=epoch, seq=10_000 + self.lot.randrange(10_000))
        new, self.browser = self.browser, old
        if self._deliver(late_comer, time.monotonic() + 1) in ("saved", "late"):
            self.journal.note(f"an older device was allowed to write: {late_comer}")
        old.close()
        self.browser = new

    def _read_back(self) -> None:
        self.look_at(self.lot.randint(1, self.room["questions"]), time.monotonic() + 1)

    def look_at(self, place: int, until: float) -> None:
        """Open a question and write down what stands chosen there, beside what may."""
        path = self.room["paths"]["question"].replace("<sitting>", str(self.sitting)).replace("<place>", str(place))
        reply = next(self._tries(until, lambda: self.browser.get(path)), None)
        if reply is None or reply.status != 200:
            return  # no line, or the sitting is over
        found = OPTION.findall(reply.text)
        self.options[place] = tuple(name for name, _ in found)
        chosen = next((name for name, is_chosen in found if is_chosen), "")
        self.journal.note(Seen(self.sitting, place, chosen, self.options[place], self._possible(place)))

    def _possible(self, place: int) -> frozenset[str]:
        """What may stand chosen: the last thing that was called saved, or any later one whose reply never came."""
        here = sorted((one for one in self.sent if one[0].place == place), key=lambda one: one[0][2:4])
        saved = [number for number, (_, said) in enumerate(here) if said == "saved"]
        last = saved[-1] if saved else -1
        open_ = {sent.option for sent, said in here[last + 1 :] if not said}
        return frozenset(open_ | {here[last][0].option if saved else ""})

    # --- over the line ----------------------------------------------------------------------------------------
    def _next(self) -> Sent:
        self.seq += 1
        place = self.lot.choice(sorted(self.options))
        name = str(UUID(int=self.lot.getrandbits(128), version=4))
        return Sent(self.sitting, name, self.epoch, self.seq, place, "choose", self.lot.choice(self.options[place]))

    def _deliver(self, sent: Sent, until: float) -> str:
        """Send until it is answered or ``until``; what was said is written down, "" if nothing was."""
        known = self._write_down(sent, "")
        sent_at = known or time.monotonic()
        said = ""
        while not said and time.monotonic() < until:
            said = self._try(sent)
            if not said:
                time.sleep(0.1)
        if said:
            self.journal.note(Answer(sent, sent_at, time.monotonic(), said))
            self._write_down(sent, said)
        return said

    def _write_down(self, sent: Sent, said: str) -> float:
        """Keep what is known of it; return when it first went out, 0 if that is now."""
        for number, (one, _) in enumerate(self.sent):
            if one == sent:
                self.sent[number] = (sent, said)
                return self._went_out[sent.client_id]
        self.sent.append((sent, said))
        self.journal.note(sent)
        self._went_out[sent.client_id] = time.monotonic()
        return 0.0

    def _try(self, sent: Sent) -> str:
        """One request: ``saved``, ``late``, the word of a refusal, or "" where no reply came or the server broke."""
        form = {"question": sent.place, "kind": sent.kind, "option": sent.option, "client_id": sent.client_id}
        path = self.room["paths"]["answer"].replace("<sitting>", str(sent.sitting))
        try:
            reply = self.browser.post(path, {**form, "epoch": sent.epoch, "seq": sent.seq})
        except LOST:
            return ""
        return self._said(reply, sent)

    def _said(self, reply: Reply, sent: Sent) -> str:
        if reply.status >= 500:
            return ""
        if reply.status not in (200, 409):
            self.journal.note(f"an answer was met with {reply.status} {reply.location}")
            return f"status {reply.status}"
        said = json.loads(reply.text)
        if not said["saved"]:
            return said["error"]
        if said["client_id"] != sent.client_id:
            self.journal.note(f"the reply to {sent.client_id} names {said['client_id']}")
        return "late" if said["late"] else "saved"

    def _until(self, until: float, ask: Callable[[], Reply], status: int) -> Reply:
        for reply in self._tries(until, ask):
            if reply.status == status:
                return reply
            time.sleep(0.2)
        raise TimeoutError(f"{self.name}: no answer {status} in time")

    def _tries(self, until: float, ask: Callable[[], Reply]) -> Iterator[Reply]:
        while time.monotonic() < until:
            try:
                reply = ask()
            except LOST:
                time.sleep(0.1)
                continue
            if reply.status < 500:
                yield reply
            else:
                time.sleep(0.1)
