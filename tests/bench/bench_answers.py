"""The answer path and the question page as ratios to a floor without a framework, on the same database. By hand:

    python -m tests.bench.bench_answers --database postgresql

240 keep-alive browsers. Answers a second with all of them asking without a pause; the burst: until the last of 240
simultaneous answers is acknowledged; the paced times of 30 pupils, 30 answers a second; the question page a second
against a constant page of its size. Goals: 3.0, 2.5, 5 (p95) and 8. Wall time of both cores, medians of rounds.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path
from statistics import median
from uuid import uuid4

from tests.bench.crowd import Crowd
from tests.faults.engines import Web
from tests.sites import database, environment_of, run

PUPILS, TOKEN = 240, "a" * 32
FLOOR, SITE = "tests.bench.floor_answers:application", "config.wsgi:application"
GOALS = {"answers a second": 3.0, "burst of 240": 2.5, "30 pupils, p95": 5.0, "question page": 8.0}


class Class:
    """The pupils' requests, ready to be sent."""

    def __init__(self, told: list[dict]) -> None:
        self.told, self.seq = told, [0] * len(told)

    def answer(self, number: int) -> bytes:
        pupil = self.told[number]
        self.seq[number] += 1
        place = self.seq[number] % len(pupil["options"])
        option = pupil["options"][place][self.seq[number] % 5]
        form = f"question={place + 1}&kind=choose&option={option}&client_id={uuid4()}&epoch=1&seq={self.seq[number]}"
        head = f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(form)}\r\n"
        return self.request("POST", f"/sitting/{pupil['sitting']}/answer/", pupil, head, form)

    def page(self, number: int) -> bytes:
        pupil = self.told[number]
        self.seq[number] += 1
        place = self.seq[number] % len(pupil["options"]) + 1
        return self.request("GET", f"/sitting/{pupil['sitting']}/{place}/", pupil)

    def constant(self, number: int) -> bytes:
        return self.request("GET", "/page/", self.told[number])

    def request(self, method: str, path: str, pupil: dict, head: str = "", body: str = "") -> bytes:
        cookies = f"Cookie: session={pupil['session']}; csrf={TOKEN}\r\nX-CSRFToken: {TOKEN}\r\n"
        return f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n{cookies}{head}\r\n{body}".encode()


def once(address: str, kind: str, class_: Class, seconds: float, site: bool) -> float:
    """One measurement: seconds taken, or for a rate its inverse, so that more is slower everywhere."""
    size = 30 if kind == "30 pupils, p95" else PUPILS
    crowd = Crowd(address, size)
    try:
        if kind == "burst of 240":
            return median(crowd.ask(class_.answer)[1] for _ in range(3))
        if kind == "30 pupils, p95":
            taken = [one for _ in range(10) for one in crowd.ask(class_.answer)[0]]
            return sorted(taken)[int(0.95 * len(taken))]
        request = class_.answer if kind == "answers a second" else class_.page if site else class_.constant
        taken, whole = crowd.ask(request, seconds)
        return whole / len(taken)
    finally:
        crowd.close()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--database", choices=["postgresql", "sqlite"], default="postgresql")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--seconds", type=float, default=2)
    asked = parser.parse_args()
    kept = True
    with tempfile.TemporaryDirectory() as name, database(asked.database, Path(name)) as url:
        folder = Path(name)
        environment = environment_of(url, folder, STATIC_ROOT=str(folder / "static"))
        run(environment, "manage.py", "migrate", "--verbosity", "0")
        run(environment, "manage.py", "collectstatic", "--noinput", "--verbosity", "0")
        class_ = Class(json.loads(run(environment, "-m", "tests.bench.signed_in", str(PUPILS), seconds=500)))
        size = {"workers": 2, "threads": 4} if asked.database == "postgresql" else {"workers": 1, "threads": 1}
        servers = {at: Web(environment, program=at, **size) for at in (FLOOR, SITE)}
        for server in servers.values():
            server.start()
        try:
            for kind, goal in GOALS.items():
                rounds = [
                    [once(servers[at].address, kind, class_, asked.seconds, at == SITE) for at in (FLOOR, SITE)]
                    for _ in range(asked.rounds)
                ]
                ratio = median(site / floor for floor, site in rounds)
                kept &= ratio <= goal
                floor, site = (median(values) for values in zip(*rounds, strict=True))
                print(
                    f"{kind:20} floor {figure(kind, floor)}, site {figure(kind, site)}: {ratio:.2f} (goal {goal})",
                    flush=True,
                )
        finally:
            for server in servers.values():
                server.kill()
    return int(not kept)


def figure(kind: str, seconds: float) -> str:
    return (
        f"{1000 * seconds:.1f} ms" if kind[0].isdigit() or kind.startswith("burst") else f"{1 / seconds:.0f} a second"
    )


if __name__ == "__main__":
    sys.exit(main())
