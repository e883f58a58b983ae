"""Classes: the list, one class, making, renaming and putting away."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from accounts import queries
from accounts.access import SignedInRequest, adults_only, roles
from accounts.errors import NameTakenError
from accounts.forms import ClassForm
from accounts.models import Role, SchoolClass
from accounts.services import classes as services
from accounts.services.sign_in import lift_class_lock


@adults_only
def listing(request: SignedInRequest) -> HttpResponse:
    archived = request.GET.get("archived") == "1"
    found = queries.classes_listed(request.user, archived=archived)
    has_others = SchoolClass.objects.visible_to(request.user).filter(archived_at__isnull=archived).exists()
    context = {"classes": found, "archived": archived, "has_others": has_others}
    return render(request, "accounts/classes.html", context)


@adults_only
def detail(request: SignedInRequest, pk: int) -> HttpResponse:
    school_class = get_object_or_404(SchoolClass.objects.visible_to(request.user), pk=pk)
    now = timezone.now()
    context = {
        "school_class": school_class,
        "pupils": queries.pupils_of(school_class, now),
        "teachers": school_class.teachers.order_by("name"),
        "locked_until": queries.class_locked_until(school_class, now),
        "may_manage": SchoolClass.objects.managed_by(request.user).filter(pk=pk).exists(),
    }
    return render(request, "accounts/class_detail.html", context)


@roles(Role.TEACHER, Role.ADMINISTRATOR)
def new(request: SignedInRequest) -> HttpResponse:
    staff = queries.staff_of(request.user) if request.user.is_administrator else None
    form = ClassForm.of(request, staff=staff)
    if form.is_valid():
        chosen = form.cleaned_data.get("teachers") or ()
        teachers = chosen if request.user.is_administrator else [request.user]
        try:
            school_class = services.create_class(
                school=request.user.school, name=form.cleaned_data["name"], teachers=teachers, by=request.user
            )
        except NameTakenError as error:
            form.refuse(error)
        else:
            messages.success(request, f"{school_class.name} is ready. Now add its pupils.")
            return redirect("accounts:class_detail", school_class.pk)
    return render(request, "accounts/class_form.html", {"form": form}, status=400 if form.is_bound else 200)


@adults_only
def edit(request: SignedInRequest, pk: int) -> HttpResponse:
    school_class = _managed(request, pk)
    staff = queries.staff_of(request.user) if request.user.is_administrator else None
    initial = {"name": school_class.name, "teachers": school_class.teachers.all()}
    form = ClassForm.of(request, initial=initial, staff=staff)
    if form.is_valid():
        name, teachers = form.cleaned_data["name"], form.cleaned_data.get("teachers")
        try:
            services.update_class(school_class=school_class, name=name, teachers=teachers, by=request.user)
        except NameTakenError as error:
            form.refuse(error)
        else:
            messages.success(request, "The class is saved.")
            return redirect("accounts:class_detail", pk)
    context = {"form": form, "school_class": school_class}
    return render(request, "accounts/class_form.html", context, status=400 if form.is_bound else 200)


@require_POST
@adults_only
def archive(request: SignedInRequest, pk: int) -> HttpResponse:
    school_class = _managed(request, pk)
    services.archive_class(school_class=school_class, by=request.user, at=timezone.now())
    messages.success(request, f"{school_class.name} is archived. Its results are kept.")
    return redirect("accounts:classes")


@require_POST
@adults_only
def restore(request: SignedInRequest, pk: int) -> HttpResponse:
    school_class = _managed(request, pk)
    services.restore_class(school_class=school_class, by=request.user)
    messages.success(request, f"{school_class.name} is in use again.")
    return redirect("accounts:class_detail", pk)


@require_POST
@adults_only
def renew_code(request: SignedInRequest, pk: int) -> HttpResponse:
    code = services.renew_code(school_class=_managed(request, pk), by=request.user)
    messages.success(request, f"The new class code is {code}. The code on printed cards no longer works.")
    return redirect("accounts:class_detail", pk)


@require_POST
@adults_only
def lift_lock(request: SignedInRequest, pk: int) -> HttpResponse:
    school_class = _managed(request, pk)
    lift_class_lock(school_class=school_class, by=request.user)
    messages.success(request, f"Everyone in {school_class.name} can sign in again.")
    return redirect("accounts:class_detail", pk)


def _managed(request: SignedInRequest, pk: int) -> SchoolClass:
    return get_object_or_404(SchoolClass.objects.managed_by(request.user), pk=pk)
