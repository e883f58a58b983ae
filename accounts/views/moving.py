"""Bringing pupils from one class into another: choose the class, look the pupils over, bring them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from accounts import queries
from accounts.access import SignedInRequest, adults_only
from accounts.errors import NameTakenError
from accounts.forms import BringForm, SourceForm
from accounts.models import SchoolClass
from accounts.services.moving import bring_pupils


@adults_only
def bring(request: SignedInRequest, pk: int) -> HttpResponse:
    """``?source=`` names the class they come from; archived ones are offered too, since a year has passed."""
    managed = SchoolClass.objects.managed_by(request.user)
    target = get_object_or_404(managed.current(), pk=pk)
    sources = managed.exclude(pk=pk).order_by("archived_at", "name")
    asked = request.POST if request.method == "POST" else request.GET
    choice = SourceForm(asked if "source" in asked or request.method == "POST" else None, classes=sources)
    context = {"school_class": target, "choice": choice, "has_sources": sources.exists()}
    if not choice.is_valid():
        return render(request, "accounts/pupils_bring.html", context, status=400 if choice.is_bound else 200)
    source = choice.cleaned_data["source"]
    form = BringForm.of(request, classes=sources, source=source)
    if form.is_valid() and _brought(request, form, source, target):
        return redirect("accounts:class_detail", pk)
    arrivals = queries.pupils_to_bring(source, target)
    context |= {"form": form, "source": source, "arrivals": arrivals, "chosen": _chosen(request, arrivals)}
    return render(request, "accounts/pupils_bring.html", context, status=400 if form.is_bound else 200)


def _brought(request: SignedInRequest, form: BringForm, source: SchoolClass, target: SchoolClass) -> bool:
    chosen, leave = form.cleaned_data["pupils"], form.cleaned_data["how"] == "move"
    try:
        count = bring_pupils(source=source, target=target, pupils=chosen, leave=leave, by=request.user)
    except NameTakenError as error:
        form.add_error("pupils", str(error))
        return False
    who = "1 pupil has" if count == 1 else f"{count} pupils have"
    messages.success(
        request, f"{who} come from {source.name}. Their PINs stay; the class code is that of {target.name}."
    )
    return True


def _chosen(request: SignedInRequest, arrivals: list[queries.Arrival]) -> set[int]:
    """Who is ticked: whoever was, and everybody who can come while the page is only asked for."""
    if request.method == "POST":
        sent = set(request.POST.getlist("pupils"))
        return {one.pupil.pk for one in arrivals if str(one.pupil.pk) in sent}
    return {one.pupil.pk for one in arrivals if one.can_come}
