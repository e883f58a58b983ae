"""Pupils of a class: added one by one or by a list, corrected, removed; their cards."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from accounts import queries
from accounts.access import SignedInRequest, adults_only
from accounts.errors import NameTakenError, StaleCardsError
from accounts.forms import PupilForm
from accounts.models import SchoolClass, User
from accounts.queries import PupilFacts
from accounts.services import cards as card_services
from accounts.services import classes as services
from accounts.services.cards import Card, NewPupil
from accounts.services.sign_in import lift_lock as lift_lock_service
from accounts.trail import Deed, record


@adults_only
def new(request: SignedInRequest, pk: int) -> HttpResponse:
    school_class = get_object_or_404(SchoolClass.objects.managed_by(request.user).current(), pk=pk)
    form = PupilForm.of(request)
    if form.is_valid():
        name, percent, rests = (form.cleaned_data[field] for field in ("name", "percent", "rest_breaks"))
        pupil = NewPupil(name, percent, rest_breaks=rests)
        try:
            made = services.add_pupils(school_class=school_class, pupils=[pupil], by=request.user)
        except NameTakenError as error:
            form.refuse(error)
        else:
            return cards_page(request, school_class, made)
    context = {"form": form, "school_class": school_class}
    return render(request, "accounts/pupil_form.html", context, status=400 if form.is_bound else 200)


@adults_only
def edit(request: SignedInRequest, pk: int) -> HttpResponse:
    pupil = _managed(request, pk)
    form = PupilForm.of(request, initial=PupilForm.initial_of(pupil))
    if form.is_valid():
        name, percent, rests = (form.cleaned_data[field] for field in ("name", "percent", "rest_breaks"))
        try:
            services.update_pupil(pupil=pupil, name=name, extra_time=percent, rest_breaks=rests, by=request.user)
        except NameTakenError as error:
            form.refuse(error)
        else:
            messages.success(request, f"{name} is saved.")
            return _back_to_class(request, pupil)
    if request.method != "POST":
        record(Deed.PUPIL_SEEN, by=request.user, about={"pupil": pupil.pk})
    classes = SchoolClass.objects.managed_by(request.user).filter(enrolments__pupil=pupil)
    context = {"form": form, "pupil": pupil, "classes": classes}
    return render(request, "accounts/pupil_form.html", context, status=400 if form.is_bound else 200)


@adults_only
def remove(request: SignedInRequest, pk: int, pupil_pk: int) -> HttpResponse:
    """Ask first; then take the pupil out of this class."""
    school_class = get_object_or_404(SchoolClass.objects.managed_by(request.user), pk=pk)
    pupil = get_object_or_404(User.objects.pupils().filter(enrolments__school_class=school_class), pk=pupil_pk)
    if request.method != "POST":
        return render(request, "accounts/pupil_remove.html", {"school_class": school_class, "pupil": pupil})
    services.remove_pupil(school_class=school_class, pupil=pupil, by=request.user)
    messages.success(request, f"{pupil.name} is no longer in {school_class.name}.")
    return redirect("accounts:class_detail", pk)


@require_POST
@adults_only
def lift_lock(request: SignedInRequest, pk: int) -> HttpResponse:
    pupil = _managed(request, pk)
    lift_lock_service(user=pupil, by=request.user)
    messages.success(request, f"{pupil.name} can try again now.")
    return _back_to_class(request, pupil)


@adults_only
def cards(request: SignedInRequest, pk: int) -> HttpResponse:
    """Choose who gets a new PIN; then show the cards, this once."""
    school_class = get_object_or_404(SchoolClass.objects.managed_by(request.user).current(), pk=pk)
    facts = queries.pupils_of(school_class, timezone.now())
    if request.method != "POST":
        return _choice_of_cards(request, school_class, facts)
    numbers = set(request.POST.getlist("pupil"))
    chosen = [fact.pupil for fact in facts if str(fact.pupil.pk) in numbers]
    if not chosen:
        return _choice_of_cards(request, school_class, facts, fault="Choose at least one pupil.", status=400)
    try:
        made = card_services.issue_pins(
            school_class=school_class, pupils=chosen, seen=request.POST.get("seen", ""), by=request.user
        )
    except StaleCardsError as error:
        return _choice_of_cards(request, school_class, facts, fault=str(error), status=409)
    return cards_page(request, school_class, made)


def cards_page(request: SignedInRequest, school_class: SchoolClass, made: list[Card]) -> HttpResponse:
    """The cards just made. Their PINs are nowhere else, so this answer to a POST is the only time they show."""
    context = {"school_class": school_class, "cards": made, "address": request.get_host()}
    return render(request, "accounts/cards_made.html", context)


def _choice_of_cards(
    request: SignedInRequest, school_class: SchoolClass, facts: list[PupilFacts], fault: str = "", status: int = 200
) -> HttpResponse:
    context = {
        "school_class": school_class,
        "pupils": facts,
        "chosen": _chosen_first(request, facts),
        "seen": card_services.state_of_pins(school_class),
        "fault": fault,
    }
    return render(request, "accounts/cards.html", context, status=status)


def _chosen_first(request: SignedInRequest, facts: list[PupilFacts]) -> set[int]:
    """Who is ticked when the page opens: whoever was ticked or asked for, else those without a PIN."""
    asked_for = {*request.POST.getlist("pupil"), *request.GET.getlist("pupil")}
    if asked_for or request.method == "POST":
        return {fact.pupil.pk for fact in facts if str(fact.pupil.pk) in asked_for}
    return {fact.pupil.pk for fact in facts if not fact.has_pin}


def _managed(request: SignedInRequest, pk: int) -> User:
    return get_object_or_404(User.objects.pupils_managed_by(request.user), pk=pk)


def _back_to_class(request: SignedInRequest, pupil: User) -> HttpResponse:
    first = SchoolClass.objects.managed_by(request.user).filter(enrolments__pupil=pupil).first()
    return redirect("accounts:class_detail", first.pk) if first else redirect("accounts:classes")
