"""The answer path and the question page as ratios to a floor without a framework, on the same database. By hand:

    python -m tests.bench.bench_answers --database postgresql

240 keep-alive browsers. Answers a second with all of them asking without a pause; the burst: until the last of 240
simultaneous answers is acknowledged; the paced times of 30 pupils, 30 answers a second; the question page a second
against a constant page of its size. Goals: 3.0, 2.5, 5 (p95) and 8. Medians of rounds, after one that does not count:
by then statements are planned and forms printed, as they are in the first minute of a test. Wall time tells on a
machine that does nothing else; on a busy one, where each round trip waits for its turn, CPU time a request does.

The site runs as ``make serve`` starts it behind a proxy, its log included, and is asked as browsers ask it.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
from pathlib import Path
from statistics import median
from uuid import uuid4

import psycopg

from tests.bench.crowd import Crowd
from tests.faults.engines import Web, all_stopped
from tests.sites import database, environment_of, run

SECRET, TOKEN = "a" * 32, "a" * 64  # the cookie, and what stands in a form under a mask of naughts
PRODUCTION = {"HTTPS": "1", "BEHIND_PROXY": "1", "LOG_LEVEL": "INFO"}
FLOOR, SITE = "tests.bench.floor_answers:application", "config.wsgi:application"
GOALS = {"answers": 3.0, "burst": 2.5, "30 pupils, p95": 5.0, "question page": 8.0}


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
        cookies = f"Cookie: __Host-session={pupil['session']}; __Host-csrf={SECRET}\r\n"
        proxied = "Host: 127.0.0.1\r\nX-Forwarded-Proto: https\r\nOrigin: https://127.0.0.1\r\n"
        return f"{method} {path} HTTP/1.1\r\n{proxied}{cookies}X-CSRFToken: {TOKEN}\r\n{head}\r\n{body}".encode()


def once(server: Web, kind: str, class_: Class, seconds: float, url: str) -> tuple[float, float]:
    """One measurement: wall seconds (for a rate its inverse, so that more is slower), and CPU seconds a request."""
    crowd = Crowd(server.address, 30 if kind == "30 pupils, p95" else len(class_.told))
    is_floor = server.command[-1] == FLOOR
    before = cpu_of(server, url)
    try:
        if kind == "burst":
            asked = [crowd.ask(class_.answer) for _ in range(3)]
            wall = median(whole for _, whole in asked)
        elif kind == "30 pupils, p95":
            asked = [crowd.ask(class_.answer) for _ in range(10)]
            taken = sorted(one for times, _ in asked for one in times)
            wall = taken[int(0.95 * len(taken))]
        else:
            request = class_.answer if kind == "answers" else class_.constant if is_floor else class_.page
            asked = [crowd.ask(request, seconds)]
            wall = asked[0][1] / len(asked[0][0])
    finally:
        crowd.close()
    return wall, (cpu_of(server, url) - before) / sum(len(times) for times, _ in asked)


def cpu_of(server: Web, url: str) -> float:
    """CPU seconds that the server and, on PostgreSQL, the processes of this database have used."""
    pids = server.children()
    if url.startswith("postgres"):
        with psycopg.connect(url) as line:
            found = line.execute("SELECT pid FROM pg_stat_activity WHERE datname = current_database()")
            pids += [pid for (pid,) in found if pid != line.info.backend_pid]
    ticks = [Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[11:13] for pid in pids]
    return sum(int(one) for pair in ticks for one in pair) / os.sysconf("SC_CLK_TCK")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--database", choices=["postgresql", "sqlite"], default="postgresql")
    parser.add_argument("--pupils", type=int, default=240)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--seconds", type=float, default=2)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, database(asked.database, Path(name)) as url:
        environment = environment_of(url, Path(name), STATIC_ROOT=f"{name}/static", **PRODUCTION)
        run(environment, "manage.py", "migrate", "--verbosity", "0")
        run(environment, "manage.py", "collectstatic", "--noinput", "--verbosity", "0")
        class_ = Class(json.loads(run(environment, "-m", "tests.bench.signed_in", str(asked.pupils), seconds=500)))
        size = {"workers": 2, "threads": 4} if asked.database == "postgresql" else {"workers": 1, "threads": 1}
        servers = [Web(environment, program=program, **size) for program in (FLOOR, SITE)]
        with all_stopped(servers):
            for server in servers:
                server.start()
            kept = [measure(kind, servers, class_, asked, url) for kind in GOALS]
            return int(not all(kept))


def measure(kind: str, servers: list[Web], class_: Class, asked: argparse.Namespace, url: str) -> bool:
    for server in servers:
        once(server, kind, class_, asked.seconds, url)  # does not count
    rounds = [[once(server, kind, class_, asked.seconds, url) for server in servers] for _ in range(asked.rounds)]
    wall = median(site[0] / floor[0] for floor, site in rounds)
    cpu = median(site[1] / floor[1] for floor, site in rounds)
    floor, site = (median(times[0] for times in of) for of in zip(*rounds, strict=True))
    ms = median(site[1] for _, site in rounds) * 1000
    print(
        f"{kind:15} floor {figure(kind, floor)}, site {figure(kind, site)}: {wall:.2f} (goal {GOALS[kind]}); "
        f"by CPU {cpu:.2f}, {ms:.2f} ms a request",
        flush=True,
    )
    return wall <= GOALS[kind]


def figure(kind: str, seconds: float) -> str:
    return (
        f"{1000 * seconds:.1f} ms" if kind[0].isdigit() or kind.startswith("burst") else f"{1 / seconds:.0f} a second"
    )


if __name__ == "__main__":
    sys.exit(main())
