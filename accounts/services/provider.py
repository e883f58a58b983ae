"""Signing in by what a school's own provider says of somebody: in place of the password, never of the second factor."""

from __future__ import annotations

import logging
from datetime import datetime

from django.conf import settings
from django.db import IntegrityError, transaction

from accounts.errors import NotInvitedError, OnlyWayInError, OtherPersonError, UnverifiedEmailError
from accounts.models import Passkey, ProviderAccount, School, User
from accounts.openid import Claims
from accounts.services.sessions import end_sessions
from accounts.trail import Deed, record

log = logging.getLogger(__name__)


def sign_in_by_provider(*, claims: Claims, at: datetime) -> User:
    """The adult whom the provider means: found by e-mail address the first time, by its own number from then on.

    Accounts are opened by administrators alone. Raises NotInvitedError (nobody of that school, whatever else there may
    be), UnverifiedEmailError, and OtherPersonError where an address has gone to somebody else at the provider.
    """
    school = _school()
    if school is None:
        log.error("sign-in by the provider refused: OIDC_SCHOOL does not say for which school")
        raise NotInvitedError
    staff = User.objects.adults().filter(school=school, is_active=True)
    known = staff.filter(provider_account__issuer=claims.issuer, provider_account__subject=claims.subject).first()
    if known is not None:
        return known
    found = staff.filter(email__iexact=claims.email).first() if claims.email else None
    try:
        if not claims.email_is_verified:
            raise UnverifiedEmailError
        if found is None:
            raise NotInvitedError
        is_new = _link(found, claims, at)
    except (UnverifiedEmailError, NotInvitedError, OtherPersonError):
        log.info("sign-in by the provider refused: account %s", found and found.pk)
        record(Deed.SIGN_IN_REFUSED, by=None, at=at, school=school, about={"staff": found.pk} if found else {})
        raise
    if is_new:
        record(Deed.PROVIDER_LINKED, by=found, at=at)
        log.info("account %s is linked to the provider", found.pk)
    return found


def unlink(*, user: User, at: datetime) -> bool:
    """Have the provider's person stand no longer for the account, and end its sessions; whether there was a link.

    Coming in that way again links it anew. Raises OnlyWayInError where neither password nor passkey is left.
    """
    with transaction.atomic():
        locked = User.objects.select_for_update().get(pk=user.pk)
        if not (locked.has_usable_password() or Passkey.objects.filter(user=locked).exists()):
            raise OnlyWayInError
        was_linked = ProviderAccount.objects.filter(user=locked).delete()[0] > 0
        if was_linked:
            record(Deed.PROVIDER_UNLINKED, by=user, at=at)
            end_sessions(user)
    if was_linked:
        log.info("account %s is no longer linked to the provider", user.pk)
    return was_linked


def _link(user: User, claims: Claims, at: datetime) -> bool:
    """Remember who the person is to the provider; whether that is new. Raises OtherPersonError."""
    told = {"issuer": claims.issuer, "subject": claims.subject, "since": at}
    try:
        account, is_new = ProviderAccount.objects.get_or_create(user=user, defaults=told)
    except IntegrityError as error:  # the provider's person is linked to an account of another school
        raise OtherPersonError from error
    if (account.issuer, account.subject) != (claims.issuer, claims.subject):
        raise OtherPersonError
    return is_new


def _school() -> School | None:
    """Whose provider it is. It must let in nobody of another school, whatever addresses it vouches for."""
    if settings.OIDC_SCHOOL:
        return School.objects.filter(pk=settings.OIDC_SCHOOL).first()
    schools = School.objects.all()[:2]
    return schools[0] if len(schools) == 1 else None
