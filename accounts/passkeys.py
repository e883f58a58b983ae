"""Passkeys (W3C Web Authentication, level 3): what a browser is asked, and whether its answer is right.

A passkey is asked to make sure of its owner (by a finger, a face or a PIN of the device, which stay there), so it is
two factors in one. No maker's certificate is asked for: which device somebody has is not ours to know.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import webauthn
from django.http import HttpRequest
from django.http.request import split_domain_port
from django.utils.crypto import salted_hmac
from webauthn.helpers import base64url_to_bytes
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from accounts.errors import PasskeyRefusedError
from accounts.models import User

REFUSED = "This passkey was not accepted. Try once more, or sign in with your code."


@dataclass(frozen=True)
class Asked:
    """What a browser was asked, and where: the challenge counts once, at this host, in pages from this origin."""

    challenge: bytes
    host: str
    origin: str


@dataclass(frozen=True)
class Credential:
    """What is kept of a new passkey: its name among passkeys, its public key, and how often it has signed."""

    name: bytes
    public_key: bytes
    sign_count: int


def asked_at(request: HttpRequest, challenge: bytes) -> Asked:
    host = request.get_host()
    return Asked(challenge, split_domain_port(host)[0], f"{request.scheme}://{host}")


def creation_options(user: User, asked: Asked, known: Iterable[bytes]) -> str:
    """What ``navigator.credentials.create`` is given (JSON); devices that hold a ``known`` passkey make no other."""
    return webauthn.options_to_json(
        webauthn.generate_registration_options(
            rp_id=asked.host,
            rp_name="Creasemark",
            user_id=handle_of(user),
            user_name=user.email or "",
            user_display_name=user.name,
            challenge=asked.challenge,
            authenticator_selection=AuthenticatorSelectionCriteria(
                resident_key=ResidentKeyRequirement.REQUIRED, user_verification=UserVerificationRequirement.REQUIRED
            ),
            exclude_credentials=[PublicKeyCredentialDescriptor(id=one) for one in known],
        )
    )


def request_options(asked: Asked, known: Iterable[bytes]) -> str:
    """What ``navigator.credentials.get`` is given (JSON): one of the ``known`` is asked for, or any of this site."""
    return webauthn.options_to_json(
        webauthn.generate_authentication_options(
            rp_id=asked.host,
            challenge=asked.challenge,
            allow_credentials=[PublicKeyCredentialDescriptor(id=one) for one in known],
            user_verification=UserVerificationRequirement.REQUIRED,
        )
    )


def created(answer: str, asked: Asked) -> Credential:
    """The passkey that a browser has made. Raises PasskeyRefusedError."""
    with _refusing():
        made = webauthn.verify_registration_response(credential=_read(answer), **_expected(asked))
        return Credential(made.credential_id, made.credential_public_key, made.sign_count)


def name_in(answer: str) -> bytes:
    """Which passkey an answer says it is of. Raises PasskeyRefusedError."""
    with _refusing():
        return base64url_to_bytes(_read(answer)["rawId"])


def signed(answer: str, asked: Asked, *, public_key: bytes, sign_count: int) -> int:
    """Make sure that the owner of this key has signed what was asked, and answer its new count.

    A count that has not grown is a copy's, or an old answer's; passkeys that are kept on several devices do not count
    and say 0. Raises PasskeyRefusedError.
    """
    with _refusing():
        return webauthn.verify_authentication_response(
            credential=_read(answer),
            credential_public_key=public_key,
            credential_current_sign_count=sign_count,
            **_expected(asked),
        ).new_sign_count


def handle_of(user: User) -> bytes:
    """The 32 bytes by which a device knows the account: they tell nothing about the person (section 14.6.1)."""
    return salted_hmac("accounts.passkeys", str(user.pk), algorithm="sha256").digest()


def _expected(asked: Asked) -> dict[str, Any]:
    return {
        "expected_challenge": asked.challenge,
        "expected_rp_id": asked.host,
        "expected_origin": asked.origin,
        "require_user_verification": True,
    }


def _read(answer: str) -> dict[str, Any]:
    read = json.loads(answer)
    if not isinstance(read, dict):
        raise TypeError("An answer is an object.")
    return read


@contextmanager
def _refusing() -> Iterator[None]:
    """Whatever is wrong with an answer is one refusal. What a stranger sends may break a parser anywhere."""
    try:
        yield
    except (WebAuthnException, ArithmeticError, AttributeError, EOFError, LookupError, TypeError, ValueError) as error:
        raise PasskeyRefusedError(REFUSED) from error
    except RecursionError as error:
        raise PasskeyRefusedError(REFUSED) from error
