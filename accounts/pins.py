"""PINs: six random figures, kept only as a hash."""

from __future__ import annotations

import re
import secrets

from django.contrib.auth.hashers import Argon2PasswordHasher, make_password

PIN_LENGTH = 6


class PinHasher(Argon2PasswordHasher):
    """Argon2id at the least cost OWASP's Password Storage Cheat Sheet advises (19 MiB, two passes, one lane).

    A million PINs can be tried against a stolen hash whatever one costs; what guards a PIN is the count of
    failures. At this cost thirty cards are made within a second.
    """

    time_cost = 2
    memory_cost = 19 * 1024
    parallelism = 1


def new_pin() -> str:
    return f"{secrets.randbelow(10**PIN_LENGTH):0{PIN_LENGTH}}"


def hash_pin(pin: str) -> str:
    return make_password(pin, hasher=PinHasher())


def is_kept(kept: str) -> bool:
    """Whether this is the hash of a PIN, rather than nothing or the sign of an unusable one."""
    return kept.startswith(f"{PinHasher.algorithm}$")


def is_right(pin: str, kept: str | None) -> bool:
    """Whether the PIN typed is the one kept. Takes as long when none is kept, so time tells nothing."""
    typed = re.sub(r"[\s-]", "", pin)
    hasher = PinHasher()
    if kept is None or not is_kept(kept):
        hasher.encode(typed, hasher.salt())
        return False
    return hasher.verify(typed, kept)
