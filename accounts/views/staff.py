"""The adults of a school, looked after by its administrator; and the invited adult's first password."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from accounts import queries
from accounts.access import SignedInRequest, administrators_only
from accounts.errors import AccountsError, InvitationSpentError, LastAdministratorError, OwnAccountError
from accounts.forms import NewPasswordForm, StaffForm
from accounts.models import Role, User
from accounts.services import people
from accounts.services.second_factor import has_factor
from accounts.services.sign_in import lift_lock as lift_lock_service


@administrators_only
def listing(request: SignedInRequest) -> HttpResponse:
    staff = queries.staff_listed(request.user, timezone.now())
    return render(request, "accounts/staff.html", {"staff": staff})


@administrators_only
def new(request: SignedInRequest) -> HttpResponse:
    form = StaffForm.of(request)
    if form.is_valid():
        try:
            person = people.create_adult(school=request.user.school, by=request.user, **form.cleaned_data)
        except AccountsError as error:
            form.refuse(error)
        else:
            return _invited(request, person)
    return render(request, "accounts/staff_form.html", {"form": form}, status=400 if form.is_bound else 200)


@administrators_only
def edit(request: SignedInRequest, pk: int) -> HttpResponse:
    person = _managed(request, pk)
    initial = {"name": person.name, "email": person.email, "role": person.role}
    form = StaffForm.of(request, initial=initial)
    if form.is_valid():
        try:
            people.update_adult(user=_managed(request, pk), by=request.user, **form.cleaned_data)
        except AccountsError as error:
            form.refuse(error)
        else:
            messages.success(request, f"{form.cleaned_data['name']} is saved.")
            steps_down = person == request.user and form.cleaned_data["role"] != Role.ADMINISTRATOR
            return redirect("home" if steps_down else "accounts:staff")
    locked_until = dict(queries.staff_listed(request.user, timezone.now()))[person]
    context = {"form": form, "person": person, "locked_until": locked_until, "has_factor": has_factor(person)}
    return render(request, "accounts/staff_form.html", context, status=400 if form.is_bound else 200)


@require_POST
@administrators_only
def invite(request: SignedInRequest, pk: int) -> HttpResponse:
    return _invited(request, _managed(request, pk))


@require_POST
@administrators_only
def disable(request: SignedInRequest, pk: int) -> HttpResponse:
    person = _managed(request, pk)
    try:
        people.disable(user=person, by=request.user)
    except (LastAdministratorError, OwnAccountError) as error:
        messages.error(request, str(error))
        return redirect("accounts:staff_edit", pk)
    messages.success(request, f"{person.name} can no longer sign in, and is signed out everywhere.")
    return redirect("accounts:staff")


@require_POST
@administrators_only
def enable(request: SignedInRequest, pk: int) -> HttpResponse:
    """Let somebody back in: that takes a new password, so a new link."""
    person = _managed(request, pk)
    people.enable(user=person, by=request.user)
    return _invited(request, person)


@require_POST
@administrators_only
def lift_lock(request: SignedInRequest, pk: int) -> HttpResponse:
    person = _managed(request, pk)
    lift_lock_service(user=person, by=request.user)
    messages.success(request, f"{person.name} can try again now.")
    return redirect("accounts:staff_edit", pk)


@never_cache
@sensitive_post_parameters()
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """The page behind an invitation's link: a first or a new password, once."""
    now = timezone.now()
    try:
        found = people.open_invitation(token=token, at=now)
        form = NewPasswordForm.of(request, user=found.user)
        if not form.is_valid():
            context = {"form": form, "person": found.user}
            return render(request, "accounts/invitation.html", context, status=400 if form.is_bound else 200)
        people.accept_invitation(invitation=found, password=form.cleaned_data["password"], at=now)
    except InvitationSpentError as error:
        return render(request, "accounts/invitation_spent.html", {"says": str(error)}, status=410)
    messages.success(request, "Your password is set. Sign in with it now.")
    return redirect("accounts:sign_in")


def _managed(request: SignedInRequest, pk: int) -> User:
    return get_object_or_404(User.objects.staff_managed_by(request.user), pk=pk)


def _invited(request: SignedInRequest, person: User) -> HttpResponse:
    """Show the link, this once: only its digest is kept."""
    token = people.invite(user=person, by=request.user, at=timezone.now())
    link = request.build_absolute_uri(reverse("accounts:invitation", args=[token]))
    context = {"person": person, "link": link, "hours": people.INVITATION_LASTS.total_seconds() // 3600}
    return render(request, "accounts/invited.html", context)
