"""Who may open a page: a decorator for every view.

Nobody signed in is sent to the sign-in page that fits; a person of another role gets 403 and a sentence.
A thing of somebody else is not this module's business: views look it up in ``visible_to(user)`` and it is
simply not there (404).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, cast

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.views import redirect_to_login
from django.contrib.sessions.models import Session
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.crypto import constant_time_compare
from django_htmx.http import HttpResponseClientRedirect

from accounts.models import Role, User
from accounts.services.second_factor import is_required
from accounts.trail import Deed, record

P = ParamSpec("P")


class SignedInRequest(HttpRequest):
    """A request behind one of these doors: its user is a person. For the type checker alone."""

    user: User


View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]
GuardedView = Callable[Concatenate[SignedInRequest, P], HttpResponseBase]

FACTOR_PASSED = "second_factor_passed"  # in the session of whoever has shown one
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
KEPT_BACK = ("csrfmiddlewaretoken", "password", "current", "pin", "token")  # never written back into a page


def roles(*allowed: Role, before_factor: bool = False) -> Callable[[GuardedView[P]], View[P]]:
    """Let only signed-in people of these roles in, and keep what they see out of every cache.

    Whoever needs a second factor and has not shown one in this session is sent to its page first, but where that page
    itself is asked for (``before_factor``).
    """

    def decorate(view: GuardedView[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return _sign_in_first(request, allowed)
            if request.user.role not in allowed:
                _note_refusal(request.user)
                raise PermissionDenied(_for_whom(allowed))
            if not before_factor and _needs_factor(request):
                return redirect("accounts:second_factor")
            response = view(cast(SignedInRequest, request), *args, **kwargs)
            if "Cache-Control" not in response:
                response["Cache-Control"] = "private, no-store"
            return response

        return guarded

    return decorate


administrators_only = roles(Role.ADMINISTRATOR)
adults_before_factor = roles(Role.TEACHER, Role.HEAD, Role.ADMINISTRATOR, before_factor=True)
adults_only = roles(Role.TEACHER, Role.HEAD, Role.ADMINISTRATOR)
pupils_only = roles(Role.PUPIL)


def read_session(session_data: str, person: int, password: str) -> dict[str, Any] | None:
    """Return what a session's stored text says, if it signs in this person, who is active and has this password's hash.

    The same three things that Django looks at for ``request.user``, for a view that has the rows already.
    """
    session = Session(session_data=session_data).get_decoded()
    signs_in = (
        session.get(SESSION_KEY) == str(person)
        and session.get(BACKEND_SESSION_KEY) in settings.AUTHENTICATION_BACKENDS
        and constant_time_compare(session.get(HASH_SESSION_KEY, ""), User(password=password).get_session_auth_hash())
    )
    return session if signs_in else None


def _sign_in_first(request: HttpRequest, allowed: tuple[Role, ...]) -> HttpResponse:
    """A page asked for comes after signing in. A thing sent is not kept, so it is shown to be copied: 401."""
    door = reverse("accounts:pupil_sign_in" if allowed == (Role.PUPIL,) else "accounts:sign_in")
    if request.method not in SAFE_METHODS:
        sent = {} if allowed == (Role.PUPIL,) else what_was_typed(request)
        return render(request, "accounts/signed_out.html", {"door": door, "sent": sent}, status=401)
    if getattr(request, "htmx", False):
        return HttpResponseClientRedirect(door)
    return redirect_to_login(request.get_full_path(), door)


def what_was_typed(request: HttpRequest) -> dict[str, str]:
    """The fields of a form that was sent and not kept, to be copied by whoever sent it; no secrets."""
    return {
        name: ", ".join(values)
        for name, values in request.POST.lists()
        if not any(word in name.lower() for word in KEPT_BACK)
    }


def _needs_factor(request: HttpRequest) -> bool:
    """A session begun with a second factor says so in itself, so that no page costs a query more."""
    return is_required(cast(User, request.user)) and not request.session.get(FACTOR_PASSED)


def _note_refusal(user: User) -> None:
    """Of adults alone: where a child looked in is nothing to keep."""
    if not user.is_pupil:
        record(Deed.PAGE_REFUSED, by=user)


def _for_whom(allowed: tuple[Role, ...]) -> str:
    if allowed == (Role.PUPIL,):
        return "This page is for pupils. You are signed in as an adult."
    if len(allowed) == 3:
        return "This page is for the adults of a school. You are signed in as a pupil."
    names = [role.label.lower() for role in allowed]
    return f"This page is only for a {' or a '.join(names)} of the school."
