"""Faults to be put into the site (``tests.faults.faulty`` serves it), to prove that the checker finds what it seeks."""

from __future__ import annotations

import threading
import time
from datetime import timedelta
from random import randrange
from types import SimpleNamespace
from uuid import uuid4

PLANTS = ("reply-before-storing", "store-repeats", "more-time", "other-option", "forget-order", "store-amiss")


def plant(name: str) -> None:
    """Replace a part of the program in this process, once Django is set up."""
    from assignments import models
    from assignments.services import sittings
    from assignments.views import sitting as views

    sound = sittings.record_event

    def early(**event):
        """Called saved at once, stored a moment later, if the process lives so long."""
        held, at = event["sitting"], event["at"]

        def later() -> None:
            time.sleep(0.2)
            sound(**event)

        threading.Thread(target=later, daemon=True).start()
        return SimpleNamespace(client_id=event["client_id"], received_at=at, is_late=at > held.deadline)

    def repeats(**event):
        kept = sound(**event)
        kept.pk, kept.client_id, kept.seq = None, uuid4(), randrange(500_000, 10**9)
        kept.save(force_insert=True)
        kept.client_id = event["client_id"]
        return kept

    def amiss(**event):
        """All called saved: every third is never stored, the others twice."""
        if event["seq"] % 3:
            return repeats(**event)
        held, at = event["sitting"], event["at"]
        return SimpleNamespace(client_id=event["client_id"], received_at=at, is_late=at > held.deadline)

    def other(**event):
        if event["seq"] and event["seq"] % 5 == 0:
            event["option"] = "A"
        return sound(**event)

    def unordered(**event):
        last = event["sitting"].events.order_by("-seq").first()
        return sound(**event | {"seq": (last.seq if last else 0) + 1})

    planted = {
        "reply-before-storing": early,
        "store-repeats": repeats,
        "other-option": other,
        "forget-order": unordered,
        "store-amiss": amiss,
    }
    views.answer.at_once = lambda *_, **__: None  # the faults are in the careful way, so every answer goes there
    if name == "more-time":
        sittings.GRACE = models.GRACE = timedelta(seconds=60)
    else:
        views.record_event = planted[name]
