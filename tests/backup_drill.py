"""Half of a restore drill in a process of its own: ``make FOLDER`` or ``restore FILE``; prints what it knows as JSON.

``make`` fills an empty database with a class, lets its pupils answer without a pause, and makes the backup meanwhile.
``restore`` brings a backup back (after three that are spoilt) and tells what is there.
"""

from __future__ import annotations

import io
import json
import sys
import tarfile
from itertools import count
from pathlib import Path
from threading import Event as Signal
from threading import Thread
from uuid import uuid4

import django


def command(*words: str) -> str:
    from django.core.management import call_command

    said = io.StringIO()
    call_command(*words, stdout=said, stderr=io.StringIO())
    return said.getvalue()


def make(folder: str) -> dict:
    command("migrate", "--verbosity", "0")
    room = json.loads(command("practice_class", "--pupils", "2", "--questions", "1"))
    command("sweep")
    kept: list[str] = []
    stop = Signal()
    threads = [Thread(target=answer, args=(pupil, room["assignment"], kept, stop)) for pupil in range(2)]
    for thread in threads:
        thread.start()
    while len(kept) < 20:
        stop.wait(0.01)
    before = list(kept)
    path = command("backup", folder).strip()
    stop.set()
    for thread in threads:
        thread.join()
    return {"path": path, "before": before, "all": kept, "assignment": room["assignment"]}


def answer(number: int, assignment: int, kept: list[str], stop: Signal) -> None:
    """Choose again and again; what ``record_event`` has returned is stored, by its word."""
    from django.db import connection

    from accounts.models import User
    from assignments.models import Assignment
    from assignments.services.clock import database_now
    from assignments.services.sittings import record_event, start_sitting

    pupil = User.objects.pupils().order_by("pk")[number]
    told = Assignment.objects.get(pk=assignment)
    sitting = start_sitting(assignment=told, pupil=pupil, device="drill", at=database_now())
    for seq in count(1):
        event = record_event(
            sitting=sitting,
            question_id=sitting.paper[0]["question"],
            kind="choose",
            option="ABCDE"[seq % 5],
            client_id=uuid4(),
            epoch=sitting.epoch,
            seq=seq,
            at=database_now(),
        )
        kept.append(f"{event.client_id} {event.option} {event.seq}")
        if stop.wait(0.001):
            break
    connection.close()


def restore(file: str) -> dict:
    from django.core.management import CommandError

    whole, spoilt = Path(file).read_bytes(), Path(file).with_name("spoilt.tar")
    flipped = bytearray(whole)
    flipped[8000] ^= 1
    with tarfile.open(file) as tar:
        _, database, *_, last = tar.getmembers()
    refused = []
    for content in (bytes(flipped), whole[: database.offset_data + 5000], whole[: last.offset + 100], whole):
        spoilt.write_bytes(content)
        try:
            command("restore", str(spoilt))
        except CommandError as error:
            refused.append(str(error))
    try:
        command("restore", file)  # the last was whole: now there is something
    except CommandError as error:
        refused.append(str(error))
    from assignments.models import Assignment

    number = Assignment.objects.get().pk
    command("recompute", str(number), "--check")
    events = [json.loads(line) for line in command("history", str(number)).splitlines()]
    return {"refused": refused, "kept": [f"{one['client_id']} {one['option']} {one['seq']}" for one in events]}


if __name__ == "__main__":
    django.setup()
    print(json.dumps({"make": make, "restore": restore}[sys.argv[1]](sys.argv[2])))
