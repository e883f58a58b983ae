"""Passkeys of adults: kept, signed in with, taken away."""

from __future__ import annotations

import logging
from datetime import datetime

from django.db import IntegrityError, transaction

from accounts import passkeys
from accounts.errors import LastFactorError, PasskeyRefusedError
from accounts.models import Passkey, SecondFactor, User
from accounts.passkeys import REFUSED, Asked
from accounts.services.second_factor import begin_factors, has_factor, judged
from accounts.trail import Deed, record

log = logging.getLogger(__name__)


def add_passkey(*, user: User, name: str, answer: str, asked: Asked, at: datetime) -> list[str]:
    """Keep the passkey that a browser has made. Where it is the first second factor of the account, answers the
    recovery codes, which are nowhere else, and signs the person out everywhere; else nothing.

    Raises PasskeyRefusedError.
    """
    made = passkeys.created(answer, asked)
    try:
        with transaction.atomic():
            first = not has_factor(User.objects.select_for_update().get(pk=user.pk))
            Passkey.objects.create(
                user=user,
                name=name,
                credential=made.name,
                public_key=made.public_key,
                sign_count=made.sign_count,
                since=at,
            )
            record(Deed.PASSKEY_ADDED, by=user, at=at)
            codes = begin_factors(user) if first else []
    except IntegrityError as error:
        raise PasskeyRefusedError("This passkey is set up already.") from error
    log.info("passkey of account %s added", user.pk)
    return codes


def check_passkey(*, answer: str, asked: Asked, half_way: User | None, at: datetime) -> User:
    """Whose passkey has signed what was asked. ``half_way`` is who has given a password: no other is let in then.

    Raises PasskeyRefusedError or SignInLockedError.
    """
    passkey = _named(answer)
    key = bytes(passkey.public_key)
    with judged(half_way or passkey.user, at):
        if half_way is not None and passkey.user_id != half_way.pk:
            raise PasskeyRefusedError("This passkey is of another account.")
        count = passkeys.signed(answer, asked, public_key=key, sign_count=passkey.sign_count)
        same = Passkey.objects.filter(pk=passkey.pk, sign_count=passkey.sign_count)
        if not same.update(sign_count=count, last_used=at):
            raise PasskeyRefusedError(REFUSED)
    log.info("passkey of account %s accepted", passkey.user_id)
    return passkey.user


def remove_passkey(*, passkey: Passkey, by: User, at: datetime) -> None:
    """Take one's own passkey away, unless nothing would be left. Raises LastFactorError."""
    with transaction.atomic():
        User.objects.select_for_update().get(pk=by.pk)
        others = Passkey.objects.filter(user=by).exclude(pk=passkey.pk)
        if not (others.exists() or SecondFactor.objects.filter(user=by).exists()):
            raise LastFactorError
        Passkey.objects.filter(pk=passkey.pk, user=by).delete()
        record(Deed.PASSKEY_REMOVED, by=by, at=at)
    log.info("passkey of account %s removed", by.pk)


def _named(answer: str) -> Passkey:
    known = Passkey.objects.filter(credential=passkeys.name_in(answer), user__is_active=True)
    passkey = known.select_related("user__school").first()
    if passkey is None:
        log.info("passkey refused: there is none of this name")
        raise PasskeyRefusedError(REFUSED)
    return passkey
