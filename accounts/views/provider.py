"""Signing in by the school's own provider: there, and back, which are no pages where no provider is set; and unlinking
an account from it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from accounts import openid
from accounts.access import SignedInRequest, adults_only
from accounts.errors import AccountsError, OnlyWayInError
from accounts.models import ProviderAccount
from accounts.services import provider as services
from accounts.views.sign_in import ADULT_SESSION, go_on

ASKED_FOR = "asked_for"  # in the session: where one wanted to go


@never_cache
@require_safe
def begin(request: HttpRequest) -> HttpResponse:
    """A link leads here, not a form: our security policy lets no form end at another host."""
    _offered()
    request.session[ASKED_FOR] = request.GET.get("next", "")
    try:
        return openid.send_to_provider(request, request.build_absolute_uri(reverse("accounts:provider_back")))
    except AccountsError as error:
        return _refused(request, error)


@never_cache
@require_safe
def back(request: HttpRequest) -> HttpResponse:
    _offered()
    asked_for = request.session.pop(ASKED_FOR, "")
    try:
        user = services.sign_in_by_provider(claims=openid.claims_of(request), at=timezone.now())
    except AccountsError as error:
        return _refused(request, error)
    return go_on(request, user, ADULT_SESSION, asked_for)


@require_POST
@adults_only
def unlink(request: SignedInRequest) -> HttpResponse:
    """Also where no provider is set any more. This session goes on under a new name, as after a change of password."""
    get_object_or_404(ProviderAccount, user=request.user)
    try:
        services.unlink(user=request.user, at=timezone.now())
    except OnlyWayInError as error:
        messages.error(request, str(error))
    else:
        request.session.cycle_key()
        messages.success(request, "Your school’s own sign-in is unlinked. Anywhere else you are signed out.")
    return redirect("accounts:password")


def _offered() -> None:
    if not openid.is_offered():
        raise Http404


def _refused(request: HttpRequest, error: AccountsError) -> HttpResponse:
    messages.error(request, str(error))
    return redirect("accounts:sign_in")
