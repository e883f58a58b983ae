"""Signing in, and the locks that slow down whoever guesses.

A try is written down as a failure before it is judged, and taken back when it was right. So of any number of
tries at once no more than the limit are judged: each sees the rows of those before it. Locks concern signing
in alone; whoever is signed in goes on.
"""

from __future__ import annotations

import logging
import re
from datetime import datetime, timedelta
from typing import NoReturn

from django.contrib.auth.hashers import make_password
from django.db.models import Q, QuerySet
from django.utils.timezone import localtime

from accounts import pins
from accounts.errors import NotAllowedError, SignInLockedError, SignInRefusedError, WrongPasswordError
from accounts.models import Enrolment, SchoolClass, SignInFailure, User, fold_name
from accounts.names import plain_name, tidy_text
from accounts.throttle import PER_ADULT, PER_CLASS, PER_PUPIL, Limit, digest_of
from accounts.trail import Deed, record

log = logging.getLogger(__name__)

NO_SUCH_CARD = "That does not match. Look at your card and try again."
NO_SUCH_ADULT = "That e-mail address and password do not match an account."
PUPIL_LOCKED = "That did not match a few times. Wait until {time}, or ask your teacher, who can let you in now."
ADULT_LOCKED = "Too many tries did not match. Wait until {time}, or ask your administrator to let you in."
KEPT = timedelta(days=1)


def sign_in_pupil(*, code: str, name: str, pin: str, at: datetime) -> User:
    """The pupil whose card this is.

    Raises SignInRefusedError with the same sentence for an unknown code, name or wrong PIN, and SignInLockedError after
    too many failures, counted alike whether the name is in the class or not.
    """
    school_class = SchoolClass.objects.current().filter(code=tidy_code(code)).first()
    if school_class is None:
        pins.is_right(pin, None)
        log.info("sign-in refused: no such class code")
        raise SignInRefusedError(NO_SUCH_CARD)
    folded = fold_name(tidy_text(name))
    pupil = _pupil_called(folded, school_class)
    who = digest_of(school_class.pk, _joined(folded) or folded)  # however it is written, as for a name that is there
    attempt = SignInFailure.objects.create(school_class=school_class, user=pupil, who=who, at=at)
    _stop_if_locked(attempt, _of_same_person(attempt), PER_PUPIL, PUPIL_LOCKED)
    _stop_if_locked(attempt, SignInFailure.objects.filter(school_class=school_class), PER_CLASS, PUPIL_LOCKED)
    if not pins.is_right(pin, pupil.password if pupil else None) or pupil is None:
        _refuse(attempt, NO_SUCH_CARD)
    attempt.delete()
    log.info("card of pupil %s accepted, class %s", pupil.pk, school_class.pk)
    return pupil


def sign_in_adult(*, email: str, password: str, at: datetime) -> User:
    """The adult with this e-mail address and password; errors as for pupils."""
    user = User.objects.adults().filter(email__iexact=email.strip(), is_active=True).first()
    attempt = SignInFailure.objects.create(user=user, who=digest_of(email.strip().lower()), at=at)
    _stop_if_locked(attempt, _of_same_person(attempt), PER_ADULT, ADULT_LOCKED)
    if user is None:
        make_password(password)  # as slow as comparing, so that time does not tell who has an account
    if user is None or not user.check_password(password):
        _refuse(attempt, NO_SUCH_ADULT)
    attempt.delete()
    log.info("password of adult %s accepted", user.pk)
    return user


def confirm_password(*, user: User, password: str, at: datetime) -> None:
    """Make sure that it is the adult who sits there. Counts failures as signing in does.

    Raises WrongPasswordError or SignInLockedError.
    """
    try:
        sign_in_adult(email=user.email or "", password=password, at=at)
    except SignInRefusedError as error:
        raise WrongPasswordError from error


def lift_lock(*, user: User, by: User) -> None:
    """Forget the failed tries of a pupil (by a teacher) or of an adult (by the administrator), at once."""
    people = User.objects.pupils_managed_by(by) if user.is_pupil else User.objects.staff_managed_by(by)
    if not people.filter(pk=user.pk).exists():
        raise NotAllowedError("You cannot lift this lock.")
    SignInFailure.objects.filter(user=user).delete()
    record(Deed.LOCK_LIFTED, by=by, about={"pupil" if user.is_pupil else "staff": user.pk})
    log.info("lock of user %s lifted by %s", user.pk, by.pk)


def lift_class_lock(*, school_class: SchoolClass, by: User) -> None:
    """Forget all failed tries at a class, those of its pupils included."""
    if not SchoolClass.objects.managed_by(by).filter(pk=school_class.pk).exists():
        raise NotAllowedError("You cannot lift this lock.")
    SignInFailure.objects.filter(school_class=school_class).delete()
    record(Deed.LOCK_LIFTED, by=by, about={"class": school_class.pk})
    log.info("lock of class %s lifted by %s", school_class.pk, by.pk)


def tidy_code(code: str) -> str:
    """A class code as kept, however it was typed: ``ktrw 4827`` is ``KTRW-4827``."""
    marks = re.sub(r"[^A-Z0-9]", "", code.upper())
    return f"{marks[:4]}-{marks[4:]}"


def _pupil_called(folded: str, school_class: SchoolClass) -> User | None:
    """The pupil of this name; else the only one whose name is the same in plain letters, as a keyboard has them."""
    places = Enrolment.objects.filter(school_class=school_class, pupil__is_active=True).select_related("pupil")
    by_name = {place.folded_name: place.pupil for place in places}
    if folded in by_name or not (plain := _joined(folded)):
        return by_name.get(folded)
    alike = [pupil for name, pupil in by_name.items() if _joined(name) == plain]
    return alike[0] if len(alike) == 1 else None


def _joined(name: str) -> str:
    """The name in plain letters, with nothing between them: Ann-Marie, Ann Marie and Annmarie are one."""
    return plain_name(name).replace(" ", "")


def _of_same_person(attempt: SignInFailure) -> QuerySet[SignInFailure]:
    """Failures of the same person since the last success; where nobody has the name typed, of that name."""
    if attempt.user is None:
        return SignInFailure.objects.filter(user=None, who=attempt.who)
    since = Q(at__gte=attempt.user.last_login) if attempt.user.last_login else Q()
    return SignInFailure.objects.filter(since, user=attempt.user)


def _stop_if_locked(attempt: SignInFailure, failures: QuerySet[SignInFailure], limit: Limit, says: str) -> None:
    """A try under a lock is not judged, and does not make the lock last longer."""
    others = failures.exclude(pk=attempt.pk).filter(at__gt=attempt.at - limit.window)
    until = limit.locked_until(others.values_list("at", flat=True), attempt.at)
    if until is None:
        return
    attempt.delete()
    log.warning("sign-in locked: user %s, class %s", attempt.user_id, attempt.school_class_id)
    raise SignInLockedError(says.format(time=f"{localtime(until):%H:%M}"), until=until)


def _record_refusal(attempt: SignInFailure) -> None:
    """Of a card the class alone: that a child forgot a PIN is kept for a day, not for years."""
    if attempt.school_class is not None:
        about, school = {"class": attempt.school_class.pk}, attempt.school_class.school
        record(Deed.SIGN_IN_REFUSED, by=None, about=about, at=attempt.at, school=school)
    elif attempt.user is not None:
        about, school = {"staff": attempt.user.pk}, attempt.user.school
        record(Deed.SIGN_IN_REFUSED, by=None, about=about, at=attempt.at, school=school)


def _refuse(attempt: SignInFailure, says: str) -> NoReturn:
    SignInFailure.objects.filter(at__lt=attempt.at - KEPT).delete()
    log.info("sign-in refused: user %s, class %s", attempt.user_id, attempt.school_class_id)
    _record_refusal(attempt)
    raise SignInRefusedError(says)
