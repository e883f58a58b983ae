"""The second factor: its page, and the step of signing in that asks for it."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from accounts import codes, half_way
from accounts.access import FACTOR_PASSED, SignedInRequest, administrators_only, adults_before_factor, adults_only
from accounts.errors import FactorSetError, SignInLockedError, WrongCodeError
from accounts.forms import CodeForm, PasskeyForm
from accounts.models import Passkey, RecoveryCode, SecondFactor, User
from accounts.services import second_factor as services
from accounts.views.sign_in import ADULT_SESSION, let_in, refused

NEW_KEY = "new_second_factor_key"  # kept in the session until a code made with it is right


@never_cache
@sensitive_post_parameters()
@adults_before_factor
def page(request: SignedInRequest) -> HttpResponse:
    """Set one up, or see that there is one."""
    factor = SecondFactor.objects.filter(user=request.user).first()
    passkeys = list(Passkey.objects.filter(user=request.user))
    is_shown = request.session.get(FACTOR_PASSED, False)
    if factor is not None or (passkeys and not ("generator" in request.GET and is_shown)):
        left = RecoveryCode.objects.filter(user=request.user).count()
        form = PasskeyForm(user=request.user) if is_shown else None
        context = {"factor": factor, "passkeys": passkeys, "passkey_form": form, "left": left}
        context["must"] = services.is_required(request.user)
        return render(request, "accounts/second_factor.html", context, status=409 if request.POST else 200)
    return _set_up(request)


def _set_up(request: SignedInRequest) -> HttpResponse:
    """The way to a code generator, and beside it to a passkey."""
    key = bytes.fromhex(request.session.setdefault(NEW_KEY, codes.new_key().hex()))
    form = CodeForm.of(request)
    if form.is_valid():
        try:
            made = services.set_factor(user=request.user, key=key, code=form.cleaned_data["code"], at=timezone.now())
        except (WrongCodeError, FactorSetError) as error:
            form.refuse(error)
        else:
            return codes_page(request, made)
    size, path = codes.qr_path(codes.key_address(key, request.user.email or ""))
    context = {"form": form, "key": codes.typed_key(key), "size": size, "path": path}
    context |= {"must": services.is_required(request.user), "passkey_form": PasskeyForm(user=request.user)}
    context["may_do_without"] = not settings.SECOND_FACTOR_REQUIRED
    return render(request, "accounts/second_factor_set.html", context, status=400 if form.is_bound else 200)


@require_POST
@adults_only
def renew_codes(request: SignedInRequest) -> HttpResponse:
    if not services.has_factor(request.user):
        raise Http404
    return codes_page(request, services.renew_recovery_codes(user=request.user, at=timezone.now()))


@require_POST
@administrators_only
def reset(request: SignedInRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User.objects.staff_managed_by(request.user).exclude(pk=request.user.pk), pk=pk)
    services.reset_factor(user=person, by=request.user, at=timezone.now())
    messages.success(request, f"{person.name} is signed out everywhere and has no second factor any more.")
    return redirect("accounts:staff_edit", pk)


@never_cache
@sensitive_post_parameters()
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step of signing in, within five minutes of the first."""
    now = timezone.now()
    user = half_way.who(request, now)
    if user is None:
        messages.error(request, "That took too long. Sign in once more.")
        return redirect("accounts:sign_in")
    form = CodeForm.of(request)
    page = {"form": form, "has_passkey": Passkey.objects.filter(user=user).exists()}
    if not form.is_valid():
        return render(request, "accounts/sign_in_code.html", page, status=400 if form.is_bound else 200)
    try:
        services.check_code(user=user, code=form.cleaned_data["code"], at=now)
    except (WrongCodeError, SignInLockedError) as error:
        form.refuse(error)
        return refused(request, "accounts/sign_in_code.html", page, error)
    return let_in(request, user, ADULT_SESSION, request.GET.get("next", ""), with_factor=True)


def codes_page(request: SignedInRequest, made: list[str]) -> HttpResponse:
    """The recovery codes, this once. This device, which has just shown the factor, is let on."""
    request.session.pop(NEW_KEY, None)
    request.session[FACTOR_PASSED] = True
    request.session.cycle_key()
    return render(request, "accounts/recovery_codes.html", {"codes": made})
