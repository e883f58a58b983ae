"""Asking a school's own provider who somebody is: OpenID Connect Core 1.0, the code flow with PKCE (RFC 7636).

The library (Authlib) holds state, nonce and the verifier in the session and checks the signature of the token; which
issuer, which audience and which claims count is said here.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from authlib.common.errors import AuthlibBaseError
from authlib.integrations.django_client import DjangoIntegration, DjangoOAuth2App
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from joserfc.errors import JoseError
from requests import RequestException

from accounts.errors import ProviderAwayError, ProviderRefusedError

DISCOVERY = "/.well-known/openid-configuration"
SECONDS = 10  # for each answer of the provider
ALGORITHMS = ["RS256", "RS384", "RS512", "PS256", "PS384", "PS512", "ES256", "ES384", "ES512"]  # RFC 7518, 3.1
LONGEST = 255  # letters of a subject
LEEWAY = 60  # seconds by which clocks may differ


@dataclass(frozen=True)
class Claims:
    """Who somebody is to the provider: ``subject`` is never given to another; the e-mail address may be."""

    issuer: str
    subject: str
    email: str
    email_is_verified: bool


def is_offered() -> bool:
    return bool(settings.OIDC_ISSUER)


def send_to_provider(request: HttpRequest, back: str) -> HttpResponse:
    """Send the browser to the provider, which sends it on to the address ``back``. Raises ProviderAwayError."""
    with _told_apart():
        return _provider().authorize_redirect(request, back)


def claims_of(request: HttpRequest) -> Claims:
    """What the provider says of whoever it has just sent back.

    Raises ProviderRefusedError for whatever does not fit what was asked, and ProviderAwayError.
    """
    expected = {
        "iss": {"essential": True, "value": settings.OIDC_ISSUER},
        "aud": {"essential": True, "value": settings.OIDC_CLIENT_ID},
        "nonce": {"essential": True},
    }
    with _told_apart():
        token = _provider().authorize_access_token(request, claims_options=expected, leeway=LEEWAY)
        told = dict(token["userinfo"])
        if "email" not in told:
            told |= _more(token, told["sub"])
        subject, email = str(told["sub"]), str(told.get("email", ""))
        if len(subject) > LONGEST or "\x00" in subject + email:
            raise ValueError("No provider calls anybody so (Core, section 2).")
        return Claims(told["iss"], subject, email, told.get("email_verified") is True)


def _more(token: dict[str, Any], subject: str) -> dict[str, Any]:
    """The e-mail address, where a provider tells it in a place of its own (Core, sections 5.3 and 5.4)."""
    told = _provider().userinfo(token=token)
    if told["sub"] != subject:
        raise ValueError("The answer is about somebody else (Core, section 5.3.2).")
    return {name: told[name] for name in ("email", "email_verified") if name in told}


class Provider(DjangoOAuth2App):
    """A provider that signs, whatever it says of itself: a token under no signature, or under a secret, is none."""

    def load_server_metadata(self) -> dict[str, Any]:
        told = super().load_server_metadata()
        told["id_token_signing_alg_values_supported"] = ALGORITHMS
        return told


def _provider() -> Provider:
    return _registered(settings.OIDC_ISSUER, settings.OIDC_CLIENT_ID, settings.OIDC_CLIENT_SECRET)


@lru_cache(maxsize=1)
def _registered(issuer: str, client_id: str, client_secret: str) -> Provider:
    """The provider with its addresses and keys, read when first needed and then remembered in this process."""
    return Provider(
        DjangoIntegration("school"),
        name="school",
        client_id=client_id,
        client_secret=client_secret,
        server_metadata_url=issuer.rstrip("/") + DISCOVERY,
        client_kwargs={"scope": "openid email", "code_challenge_method": "S256", "default_timeout": SECONDS},
    )


@contextmanager
def _told_apart() -> Iterator[None]:
    """A provider that does not answer, or not as one does, and an answer that must not count."""
    try:
        yield
    except RequestException as error:
        raise ProviderAwayError from error
    except (AuthlibBaseError, JoseError, LookupError, TypeError, ValueError, RuntimeError) as error:
        raise ProviderRefusedError from error
