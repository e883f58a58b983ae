"""Questions to try, neither marked nor kept: before the first sitting, and after an answer that was not right."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.access import pupils_only
from assignments.models import AssignedQuestion, Sitting
from assignments.papers import places
from assignments.queries import assignments_for_pupil
from assignments.services.clock import database_now
from assignments.tries import MOST, Try, example, variant
from assignments.views import person, small_number
from assignments.views.reviews import review_due


@require_safe
@pupils_only
def example_page(request: HttpRequest) -> HttpResponse:
    """Show how a sitting works by a question of no set; ``set`` in the address is where to go on."""
    number = small_number(request.GET.get("set", ""))
    leads_on = assignments_for_pupil(person(request)).filter(pk=number).exists()
    up = reverse("assignments:start", args=[number]) if leads_on else reverse("assignments:my_sets")
    context = {"up": up, "kept": {"set": number} if leads_on else {}, "is_example": True}
    return _show(request, example(), context)


@require_safe
@pupils_only
def again(request: HttpRequest, pk: int, place: int) -> HttpResponse:
    """Show a variant of a question whose answer may be told; before that, there is no such page."""
    at = database_now()
    sittings = Sitting.objects.visible_to(person(request)).select_related("assignment", "pupil")
    sitting = get_object_or_404(sittings, pk=pk)
    if review_due(sitting, place, at) is None:
        raise Http404
    number = small_number(request.GET.get("number", "")) or 1
    asked = AssignedQuestion.objects.select_related("version").get(pk=places(sitting.paper)[place - 1].question)
    found = variant(asked.version, number, known=_asked_here(sitting))
    up = reverse("assignments:review", args=[pk, place])
    context = {"up": up, "kept": {"number": number}, "number": place, "further": f"?number={number % MOST + 1}"}
    return _show(request, found, context) if found else render(request, "assignments/try_none.html", context)


def _asked_here(sitting: Sitting) -> set[str]:
    """The questions of all papers of the assignment, by their fingerprints."""
    return set(
        AssignedQuestion.objects.filter(assignment=sitting.assignment_id).values_list("version__fingerprint", flat=True)
    )


def _show(request: HttpRequest, tried: Try, context: dict) -> HttpResponse:
    """Show the question, or what there is to say of the option chosen; one that is not there is as none."""
    chosen, then = request.GET.get("option", ""), request.GET.get("then", "")
    review = None if then else tried.review(chosen)
    if review is None:
        deed, _, struck = then.partition(":")
        options = tried.options(chosen, struck if deed == "strike" else "")
        shown = {"tried": tried, "options": options, "is_sent": "sent" in request.GET and not then}
        return render(request, "assignments/try.html", context | shown)
    step = min(small_number(request.GET.get("step", "")), len(review.steps) - 1)
    kept = "&".join(f"{name}={value}" for name, value in {**context["kept"], "option": chosen}.items())
    told = {"review": review, "step": step, "shown": review.steps[step], "steps_at": f"?{kept}&", "is_own": True}
    return render(request, "assignments/try_told.html", context | told)
