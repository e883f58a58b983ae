"""Passkeys: made and taken away on the page of the second factor, and signed in with.

Each takes two steps, both sent by ``static/js/passkey.js``: what to ask the browser, which is kept in the session for
five minutes and counts once; and the browser's answer.
"""

from __future__ import annotations

import secrets
from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from accounts import half_way, passkeys
from accounts.access import FACTOR_PASSED, SignedInRequest, adults_before_factor, adults_only
from accounts.errors import LastFactorError, PasskeyRefusedError, SignInLockedError, WrongPasswordError
from accounts.forms import AnswerForm, PasskeyForm
from accounts.models import Passkey, User
from accounts.passkeys import Asked
from accounts.services import passkeys as services
from accounts.services.second_factor import has_factor
from accounts.services.sign_in import confirm_password
from accounts.views.second_factor import codes_page
from accounts.views.sign_in import ADULT_SESSION, let_in

ASKED = "passkey_asked"  # in the session: the challenge, until when it counts, and the name of the passkey to be made
LASTS = timedelta(minutes=5)
TOO_LATE = "That took too long, or was sent twice. Try once more."


@require_POST
@sensitive_post_parameters()
@adults_before_factor
def new_options(request: SignedInRequest) -> HttpResponse:
    """What to ask the browser for, once the name and the password are right; else a sentence that says what is not."""
    _stop_without_factor(request)
    form = PasskeyForm(request.POST, user=request.user)
    if not form.is_valid():
        return JsonResponse(
            {"says": " ".join(f"{says}" for field in form.errors.values() for says in field)}, status=400
        )
    try:
        if "current" in form.fields:
            confirm_password(user=request.user, password=form.cleaned_data["current"], at=timezone.now())
    except (WrongPasswordError, SignInLockedError) as error:
        return JsonResponse({"says": str(error)}, status=429 if isinstance(error, SignInLockedError) else 400)
    asked = _ask(request, form.cleaned_data["name"])
    return _json(passkeys.creation_options(request.user, asked, _known(request.user)))


@require_POST
@adults_before_factor
def new(request: SignedInRequest) -> HttpResponse:
    _stop_without_factor(request)
    asked, name, answer = _answered(request)
    try:
        if asked is None:
            raise PasskeyRefusedError(TOO_LATE)
        made = services.add_passkey(user=request.user, name=name, answer=answer, asked=asked, at=timezone.now())
    except PasskeyRefusedError as error:
        messages.error(request, str(error))
        return redirect("accounts:second_factor")
    if made:
        return codes_page(request, made)
    messages.success(request, f"The passkey “{name}” is set up.")
    return redirect("accounts:second_factor")


@require_POST
@adults_only
def remove(request: SignedInRequest, pk: int) -> HttpResponse:
    passkey = get_object_or_404(Passkey, pk=pk, user=request.user)
    try:
        services.remove_passkey(passkey=passkey, by=request.user, at=timezone.now())
    except LastFactorError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"The passkey “{passkey.name}” no longer lets you in. Delete it on your device too.")
    return redirect("accounts:second_factor")


@never_cache
@require_POST
def sign_in_options(request: HttpRequest) -> HttpResponse:
    """What to ask the browser for: a passkey of whoever has given a password, or else any of this site."""
    user = half_way.who(request, timezone.now())
    return _json(passkeys.request_options(_ask(request), _known(user) if user else []))


@never_cache
@require_POST
def sign_in(request: HttpRequest) -> HttpResponse:
    """Let in whose passkey it is: it is two factors in one. After a password it must be of the same person."""
    now = timezone.now()
    user = half_way.who(request, now)
    asked, _, answer = _answered(request)
    try:
        if asked is None:
            raise PasskeyRefusedError(TOO_LATE)
        owner = services.check_passkey(answer=answer, asked=asked, half_way=user, at=now)
    except (PasskeyRefusedError, SignInLockedError) as error:
        messages.error(request, str(error))
        return redirect(reverse("accounts:sign_in_code" if user else "accounts:sign_in", query=request.GET or None))
    return let_in(request, owner, ADULT_SESSION, request.GET.get("next", ""), with_factor=True)


def _stop_without_factor(request: SignedInRequest) -> None:
    """Who has a second factor adds another only where one has been shown."""
    if has_factor(request.user) and not request.session.get(FACTOR_PASSED):
        raise PermissionDenied("Sign in with your second factor first.")


def _known(user: User) -> list[bytes]:
    return [bytes(one) for one in Passkey.objects.filter(user=user).values_list("credential", flat=True)]


def _ask(request: HttpRequest, name: str = "") -> Asked:
    challenge = secrets.token_bytes(32)
    until = (timezone.now() + LASTS).timestamp()
    request.session[ASKED] = {"challenge": challenge.hex(), "until": until, "name": name}
    return passkeys.asked_at(request, challenge)


def _answered(request: HttpRequest) -> tuple[Asked | None, str, str]:
    """What was asked (None: nothing, or too long ago), the name for the passkey, and the answer."""
    kept = request.session.pop(ASKED, None)
    form = AnswerForm(request.POST)
    if kept is None or timezone.now().timestamp() > kept["until"] or not form.is_valid():
        return None, "", ""
    asked = passkeys.asked_at(request, bytes.fromhex(kept["challenge"]))
    return asked, kept["name"], form.cleaned_data["credential"]


def _json(text: str) -> HttpResponse:
    return HttpResponse(text, content_type="application/json")
