"""How many failed sign-ins there may be. Never counted by address: a whole school shares one.

Five failures per pupil in a quarter of an hour and thirty per class and hour leave a guesser of six-figure
PINs 720 tries a day at a class, a chance of 0.07 % to hit any pupil.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.crypto import salted_hmac


@dataclass(frozen=True)
class Limit:
    """At most ``failures`` within ``window``; the next try waits."""

    failures: int
    window: timedelta

    def locked_until(self, failures: Iterable[datetime], at: datetime) -> datetime | None:
        """When the lock of these failures opens, or None if there is none at this time."""
        recent = sorted(failure for failure in failures if failure > at - self.window)
        if len(recent) < self.failures:
            return None
        return recent[-self.failures] + self.window


PER_PUPIL = Limit(failures=5, window=timedelta(minutes=15))
PER_CLASS = Limit(failures=30, window=timedelta(hours=1))
PER_ADULT = Limit(failures=10, window=timedelta(minutes=15))
# Whoever has a password has 480 tries a day at its second factor, of which three codes in a million are right at any
# time: a chance of 0.14 % a day, with every try in the audit trail.
PER_FACTOR = Limit(failures=5, window=timedelta(minutes=15))


def digest_of(*typed: object) -> str:
    """A keyed digest (64 hex figures) that stands for what was typed, so that it need not be kept."""
    return salted_hmac("accounts.throttle", "\n".join(map(str, typed)), algorithm="sha256").hexdigest()
