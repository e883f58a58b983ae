"""Schools and their adults: accounts, invitations, passwords, who may come in."""

from __future__ import annotations

import logging
import secrets
from datetime import datetime, timedelta
from hashlib import sha256

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX, make_password
from django.db import IntegrityError, transaction
from django.db.models import Q

from accounts.errors import (
    EmailTakenError,
    InvitationSpentError,
    LastAdministratorError,
    NotAllowedError,
    OwnAccountError,
)
from accounts.models import Invitation, ProviderAccount, Role, School, User
from accounts.services.sign_in import confirm_password
from accounts.trail import Deed, record

log = logging.getLogger(__name__)

INVITATION_LASTS = timedelta(hours=24)


def create_school(*, name: str) -> School:
    return School.objects.create(name=name)


def create_adult(
    *, school: School, role: Role, email: str, name: str, password: str | None = None, by: User | None
) -> User:
    """Open an account. Without a password its owner needs an invitation; ``by`` is None when setting up.

    Raises EmailTakenError.
    """
    _only_administrator(by, school)
    try:
        with transaction.atomic():
            user = User.objects.create_adult(
                school=school, role=role, email=email.lower(), name=name, password=password
            )
            record(Deed.STAFF_CHANGED, by=by, about={"staff": user.pk})
    except IntegrityError as error:
        raise EmailTakenError from error
    log.info("account %s opened as %s", user.pk, role)
    return user


def update_adult(*, user: User, name: str, email: str, role: Role, by: User) -> None:
    """Correct an account. Raises EmailTakenError, and LastAdministratorError when none would be left."""
    _only_administrator(by, user.school)
    try:
        with transaction.atomic():
            School.objects.select_for_update().get(pk=user.school_id)
            if user.email != email.lower():
                ProviderAccount.objects.filter(user=user).delete()
            steps_down = user.is_administrator and role != Role.ADMINISTRATOR
            user.name, user.email, user.role = name, email.lower(), role
            user.save(update_fields=["name", "email", "role"])
            if steps_down:
                _an_administrator_remains(user.school)
            record(Deed.STAFF_CHANGED, by=by, about={"staff": user.pk})
    except IntegrityError as error:
        raise EmailTakenError from error


def invite(*, user: User, by: User | None, at: datetime) -> str:
    """A fresh token for the link by which an adult sets a password; links given before stop working.

    Who the person is at the school's own sign-in is forgotten as well: the administrator vouches anew.
    """
    _only_administrator(by, user.school)
    token = secrets.token_urlsafe(32)
    with transaction.atomic():
        Invitation.objects.filter(user=user, used_at__isnull=True).update(expires_at=at)
        ProviderAccount.objects.filter(user=user).delete()
        Invitation.objects.create(user=user, token_digest=digest_of_token(token), expires_at=at + INVITATION_LASTS)
        record(Deed.STAFF_INVITED, by=by, about={"staff": user.pk}, at=at, school=user.school)
    log.info("invitation for account %s", user.pk)
    return token


def open_invitation(*, token: str, at: datetime) -> Invitation:
    """The invitation of this link. Raises InvitationSpentError."""
    invitation = (
        Invitation.objects.select_related("user__school")
        .filter(token_digest=digest_of_token(token), used_at__isnull=True, expires_at__gt=at)
        .filter(user__is_active=True)
        .first()
    )
    if invitation is None:
        raise InvitationSpentError
    return invitation


def accept_invitation(*, invitation: Invitation, password: str, at: datetime) -> None:
    """Set the password. Of two who follow one link at once, one is refused with InvitationSpentError."""
    with transaction.atomic():
        open_still = Invitation.objects.filter(pk=invitation.pk, used_at__isnull=True, expires_at__gt=at)
        if not open_still.update(used_at=at):
            raise InvitationSpentError
        _set_password(invitation.user, make_password(password))


def change_password(*, user: User, current: str, password: str, at: datetime) -> None:
    """Set a new password; every session made with the old one ends.

    Raises WrongPasswordError and, after too many tries, SignInLockedError.
    """
    confirm_password(user=user, password=current, at=at)
    _set_password(user, make_password(password))


def disable(*, user: User, by: User) -> None:
    """Shut an adult out at once. The password goes, so that no old session ever opens again.

    Raises OwnAccountError, and LastAdministratorError when two administrators disable each other at once.
    """
    _only_administrator(by, user.school)
    if user.pk == by.pk:
        raise OwnAccountError
    with transaction.atomic():
        School.objects.select_for_update().get(pk=user.school_id)
        user.is_active = False
        user.set_unusable_password()
        user.save(update_fields=["is_active", "password"])
        if user.is_administrator:
            _an_administrator_remains(user.school)
        record(Deed.STAFF_DISABLED, by=by, about={"staff": user.pk})
    log.info("account %s disabled by %s", user.pk, by.pk)


def enable(*, user: User, by: User) -> None:
    """Let an adult back in; a new password takes a new invitation."""
    _only_administrator(by, user.school)
    with transaction.atomic():
        user.is_active = True
        user.save(update_fields=["is_active"])
        record(Deed.STAFF_ENABLED, by=by, about={"staff": user.pk})
    log.info("account %s enabled by %s", user.pk, by.pk)


def digest_of_token(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def _set_password(user: User, encoded: str) -> None:
    with transaction.atomic():
        user.password = encoded
        user.save(update_fields=["password"])
        record(Deed.PASSWORD_SET, by=user)
    log.info("password of account %s set", user.pk)


def _only_administrator(by: User | None, school: School) -> None:
    if by is not None and not (by.is_administrator and by.school_id == school.pk):
        raise NotAllowedError("Only the school's administrator looks after its staff.")


def _an_administrator_remains(school: School) -> None:
    """Whoever was invited and never came does not count: the link may have gone astray, or be a day old."""
    has_been_in = ~Q(password__startswith=UNUSABLE_PASSWORD_PREFIX) | Q(provider_account__isnull=False)
    if not User.objects.filter(has_been_in, school=school, role=Role.ADMINISTRATOR, is_active=True).exists():
        raise LastAdministratorError
