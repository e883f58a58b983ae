"""In and out: pupils by card, adults by e-mail address and password."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from accounts import half_way, openid
from accounts.access import FACTOR_PASSED, SignedInRequest, adults_only
from accounts.errors import AccountsError, SignInLockedError, SignInRefusedError
from accounts.forms import AdultSignInForm, ChangePasswordForm, Form, PupilSignInForm
from accounts.models import User
from accounts.services import people
from accounts.services.second_factor import has_factor
from accounts.services.sign_in import sign_in_adult, sign_in_pupil
from accounts.trail import Deed, record

# Tablets go from hand to hand: a pupil's sign-in lasts a school morning, an adult's a working day.
PUPIL_SESSION = timedelta(hours=4)
ADULT_SESSION = timedelta(hours=12)


@never_cache
@sensitive_post_parameters()
def pupil_sign_in(request: HttpRequest) -> HttpResponse:
    form = PupilSignInForm.of(request)
    return _door(request, "accounts/pupil_sign_in.html", form, judge=sign_in_pupil, lasts=PUPIL_SESSION)


@never_cache
@sensitive_post_parameters()
def sign_in(request: HttpRequest) -> HttpResponse:
    form = AdultSignInForm.of(request)
    page = {"by_provider": openid.is_offered()}
    return _door(request, "accounts/sign_in.html", form, judge=sign_in_adult, lasts=ADULT_SESSION, page=page)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session, and have the browser forget it all. An adult's choice of colours and size stays."""
    was_adult = request.user.is_authenticated and not request.user.is_pupil
    logout(request)
    response = redirect("accounts:sign_in" if was_adult else "accounts:pupil_sign_in")
    response["Clear-Site-Data"] = '"cache", "cookies"' if was_adult else '"cache", "cookies", "storage"'
    return response


@sensitive_post_parameters()
@adults_only
def password(request: SignedInRequest) -> HttpResponse:
    """Change one's own password: every other session ends, this one goes on under a new name."""
    form = ChangePasswordForm.of(request, user=request.user)
    if not form.is_valid():
        return _form_page(request, "accounts/password.html", {"form": form})
    current, new = form.cleaned_data["current"], form.cleaned_data["password"]
    try:
        people.change_password(user=request.user, current=current, password=new, at=timezone.now())
    except AccountsError as error:
        form.refuse(error)
        return refused(request, "accounts/password.html", {"form": form}, error)
    update_session_auth_hash(request, request.user)
    messages.success(request, "Your password is changed. Anywhere else you were signed in, you are signed out.")
    return redirect("home")


def _door(
    request: HttpRequest,
    template: str,
    form: Form,
    *,
    judge: Callable[..., User],
    lasts: timedelta,
    page: Mapping[str, object] | None = None,
) -> HttpResponse:
    """A sign-in page: the form, or what ``judge`` makes of the details typed into it. ``page``: what else it shows."""
    page = {"form": form, **(page or {})}
    if not form.is_valid():
        return _form_page(request, template, page)
    try:
        user = judge(**form.cleaned_data, at=timezone.now())
    except (SignInRefusedError, SignInLockedError) as error:
        form.refuse(error)
        return refused(request, template, page, error)
    return go_on(request, user, lasts, request.GET.get("next", ""))


def go_on(request: HttpRequest, user: User, lasts: timedelta, asked_for: str) -> HttpResponse:
    """After the first step: to the second, for an adult who has a second factor, or in."""
    if not user.is_pupil and has_factor(user):
        half_way.begin(request, user, timezone.now())
        return redirect(reverse("accounts:sign_in_code", query={"next": asked_for} if asked_for else None))
    return let_in(request, user, lasts, asked_for)


def let_in(
    request: HttpRequest, user: User, lasts: timedelta, asked_for: str, *, with_factor: bool = False
) -> HttpResponse:
    login(request, user)  # under a new session id, whatever was here before
    request.session.set_expiry(lasts)
    if with_factor:
        request.session[FACTOR_PASSED] = True
    if not user.is_pupil:
        record(Deed.SIGNED_IN, by=user)
    is_ours = url_has_allowed_host_and_scheme(asked_for, {request.get_host()}, request.is_secure())
    return redirect(asked_for if is_ours else "home")


def _form_page(request: HttpRequest, template: str, page: dict[str, Any]) -> HttpResponse:
    return render(request, template, page, status=400 if page["form"].is_bound else 200)


def refused(request: HttpRequest, template: str, page: dict[str, Any], error: AccountsError) -> HttpResponse:
    locked = isinstance(error, SignInLockedError)
    response = render(request, template, page, status=429 if locked else 400)
    if isinstance(error, SignInLockedError):
        response["Retry-After"] = str(max(1, int((error.until - timezone.now()).total_seconds())))
    return response
