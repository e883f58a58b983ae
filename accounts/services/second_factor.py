"""The second factor of adults: set up, asked for at sign-in, recovered, taken away by somebody else.

It is a code generator, passkeys (``services/passkeys.py``), or both; recovery codes stand in for either.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils.timezone import localtime

from accounts import codes, pins
from accounts.errors import AccountsError, FactorSetError, NotAllowedError, SignInLockedError, WrongCodeError
from accounts.models import Passkey, RecoveryCode, Role, SecondFactor, SignInFailure, User
from accounts.services.sessions import end_sessions
from accounts.throttle import PER_FACTOR, digest_of
from accounts.trail import Deed, record

log = logging.getLogger(__name__)

MUST = (Role.HEAD, Role.ADMINISTRATOR)  # they see the whole school
LOCKED = "Too many codes did not match. Wait until {time}, or ask your administrator to let you in."


def is_required(user: User) -> bool:
    return settings.SECOND_FACTOR_REQUIRED and user.role in MUST


def has_factor(user: User) -> bool:
    either = Q(second_factor__isnull=False) | Q(passkeys__isnull=False)
    return User.objects.filter(either, pk=user.pk).exists()


def set_factor(*, user: User, key: bytes, code: str, at: datetime) -> list[str]:
    """Keep the key once a code made with it is right; answers the recovery codes, which are nowhere else.

    Everywhere else the person is signed out. Raises WrongCodeError, and FactorSetError if one is set already.
    """
    step = codes.step_of(code, key, at)
    if step is None:
        raise WrongCodeError("This code does not match. Wait for the next one and type that.")
    try:
        with transaction.atomic():
            SecondFactor.objects.create(user=user, key=key, since=at, last_step=step)
            made = begin_factors(user)
            record(Deed.FACTOR_SET, by=user, at=at)
    except IntegrityError as error:
        raise FactorSetError from error
    log.info("second factor of account %s set", user.pk)
    return made


def begin_factors(user: User) -> list[str]:
    """What goes with a new factor: other recovery codes, and an end to sessions that have not shown it."""
    made = _replace_recovery_codes(user)
    end_sessions(user)
    return made


def renew_recovery_codes(*, user: User, at: datetime) -> list[str]:
    """Ten new recovery codes; those made before no longer count."""
    with transaction.atomic():
        made = _replace_recovery_codes(user)
        record(Deed.FACTOR_SET, by=user, at=at)
    return made


def check_code(*, user: User, code: str, at: datetime) -> None:
    """Make sure that it is who has the generator, or a recovery code, which is then used up.

    Raises WrongCodeError or SignInLockedError.
    """
    with judged(user, at):
        if not (_is_of_generator(user, code, at) or _is_recovery(user, code)):
            raise WrongCodeError("This code does not match, or has been used. Wait for the next one and type that.")


@contextmanager
def judged(user: User, at: datetime) -> Iterator[None]:
    """Around the judging of a second factor, which raises one of our errors if it is not right.

    As with passwords a try counts as failed until it has been judged, so that no more than the limit are judged at
    once. Raises SignInLockedError.
    """
    attempt = SignInFailure.objects.create(user=user, who=digest_of("second factor", user.pk), at=at)
    others = SignInFailure.objects.filter(who=attempt.who, at__gt=at - PER_FACTOR.window).exclude(pk=attempt.pk)
    until = PER_FACTOR.locked_until(others.values_list("at", flat=True), at)
    if until is not None:
        attempt.delete()
        raise SignInLockedError(LOCKED.format(time=f"{localtime(until):%H:%M}"), until=until)
    try:
        yield
    except AccountsError:
        log.info("second factor refused: account %s", user.pk)
        record(Deed.SIGN_IN_REFUSED, by=None, at=at, school=user.school, about={"staff": user.pk})
        raise
    attempt.delete()


def reset_factor(*, user: User, by: User | None, at: datetime) -> None:
    """Take the second factor away from somebody who has lost it, and sign that person out everywhere.

    An administrator does it for another person; ``by`` is None for whoever runs the server.
    """
    if by is not None and (by.pk == user.pk or not User.objects.staff_managed_by(by).filter(pk=user.pk).exists()):
        raise NotAllowedError("Another administrator of the school takes a second factor away.")
    with transaction.atomic():
        SecondFactor.objects.filter(user=user).delete()
        Passkey.objects.filter(user=user).delete()
        RecoveryCode.objects.filter(user=user).delete()
        record(Deed.FACTOR_RESET, by=by, at=at, school=user.school, about={"staff": user.pk})
    end_sessions(user)
    log.info("second factor of account %s taken away", user.pk)


def _is_of_generator(user: User, code: str, at: datetime) -> bool:
    """Whether the generator shows this code. Of two who send one code at once, the database lets one in."""
    factor = SecondFactor.objects.filter(user=user).first()
    step = codes.step_of(code, bytes(factor.key), at) if factor else None
    if step is None:
        return False
    return SecondFactor.objects.filter(user=user, last_step__lt=step).update(last_step=step) == 1


def _is_recovery(user: User, code: str) -> bool:
    typed = codes.tidy_recovery_code(code)
    if len(typed) != len(codes.tidy_recovery_code(codes.new_recovery_code())):
        return False
    found = (kept for kept in RecoveryCode.objects.filter(user=user) if pins.PinHasher().verify(typed, kept.hashed))
    match = next(found, None)
    return match is not None and RecoveryCode.objects.filter(pk=match.pk).delete()[0] == 1


def _replace_recovery_codes(user: User) -> list[str]:
    made = [codes.new_recovery_code() for _ in range(codes.RECOVERY_CODES)]
    RecoveryCode.objects.filter(user=user).delete()
    RecoveryCode.objects.bulk_create(
        RecoveryCode(user=user, hashed=pins.hash_pin(codes.tidy_recovery_code(code))) for code in made
    )
    return made
