"""Adding pupils by a list: looked over first, then added, all the chosen rows or none."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from accounts import queries
from accounts.access import SignedInRequest, adults_only
from accounts.errors import BadListError, NothingAddedError
from accounts.forms import PupilListForm
from accounts.models import SchoolClass
from accounts.pupil_lists import read_list
from accounts.services.lists import add_from_list
from accounts.views.pupils import cards_page


@adults_only
def pupils_import(request: SignedInRequest, pk: int) -> HttpResponse:
    """A list sent is answered with what would happen; sent again with the chosen lines, it happens."""
    school_class = get_object_or_404(SchoolClass.objects.managed_by(request.user).current(), pk=pk)
    form = PupilListForm.of(request)
    context = {"school_class": school_class, "form": form}
    if not form.is_valid():
        return render(request, "accounts/pupils_import.html", context, status=400 if form.is_bound else 200)
    text = form.cleaned_data["text"]
    if "add" in request.POST:
        lines = {line for line in request.POST.getlist("line") if line.isdecimal() and len(line) < 6}
        try:
            made = add_from_list(school_class=school_class, text=text, lines=set(map(int, lines)), by=request.user)
        except (BadListError, NothingAddedError) as error:
            return _preview(request, school_class, text, refused=str(error))
        return cards_page(request, school_class, made)
    return _preview(request, school_class, text)


def _preview(request: SignedInRequest, school_class: SchoolClass, text: str, refused: str = "") -> HttpResponse:
    """What would happen to each line; ``refused`` says why what was asked did not happen (409)."""
    form = PupilListForm(initial={"text": text})
    context = {"school_class": school_class, "form": form, "text": text, "refused": refused}
    try:
        pupil_list = read_list(text)
    except BadListError as error:
        context["form"] = bound = PupilListForm({"text": text})
        bound.refuse(error)
        return render(request, "accounts/pupils_import.html", context, status=400)
    context["plan"] = plan = queries.plan_list(pupil_list, school_class)
    context["unused"] = pupil_list.unused
    context["good"] = sum(planned.is_good for planned in plan)
    context["here"] = sum(planned.is_here for planned in plan)
    context["faults"] = sum(bool(planned.row.fault) for planned in plan)
    return render(request, "accounts/pupils_import.html", context, status=409 if refused else 200)
