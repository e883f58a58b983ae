"""Going over an answer: a pupil's own once it may be told, and an adult's of any pupil in view."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.access import adults_only, pupils_only
from accounts.trail import Deed, record
from assignments.feedback import is_due
from assignments.models import Assignment, Sitting
from assignments.papers import number_of, places
from assignments.queries import as_asked, last_running_deadline, questions_of
from assignments.results import mark_sittings
from assignments.reviews import Review, review_of
from assignments.services.clock import database_now
from assignments.views import person
from bank.models import Question, State

MOST_VARIANTS = 6
TEMPLATE = "assignments/review.html"


@require_safe
@pupils_only
def own(request: HttpRequest, pk: int, place: int) -> HttpResponse:
    """Show how one question is answered; before that may be told, there is no such page."""
    at = database_now()
    sittings = Sitting.objects.visible_to(person(request)).select_related("assignment", "pupil")
    sitting = get_object_or_404(sittings, pk=pk)
    review = review_due(sitting, place, at)
    if review is None:
        raise Http404
    context = _context(request, sitting, review, number=place) | {"is_own": True}
    context["up"] = reverse("assignments:start", args=[sitting.assignment_id])
    if sitting.is_running(at):
        return render(request, TEMPLATE, context | _back_to_the_sitting(sitting, place, at))
    return render(request, TEMPLATE, context | _neighbours(place, sitting, "assignments:review", sitting.pk))


def review_due(sitting: Sitting, place: int, at: datetime) -> Review | None:
    """Return the review of a place of the pupil's paper, if there is one and the pupil may see it."""
    review = _review(sitting, place)
    last_deadline = last_running_deadline(sitting.assignment)
    if review is None or not is_due(sitting, last_deadline, at, is_locked=review.mark.standing.is_locked):
        return None
    return review


@require_safe
@adults_only
def of_pupil(request: HttpRequest, pk: int, pupil_pk: int, place: int) -> HttpResponse:
    """Show an adult one answer of one pupil; ``place`` is the number of the question in the set."""
    assignment = get_object_or_404(Assignment.objects.visible_to(person(request)), pk=pk)
    sittings = assignment.sittings.select_related("assignment__school_class", "pupil")
    sitting = get_object_or_404(sittings, pupil=pupil_pk)
    review = _review(sitting, place, by_position=True)
    if review is None:
        raise Http404
    context = _context(request, sitting, review, number=place)
    context["up"] = reverse("assignments:result_pupil", args=[pk, pupil_pk])
    context["board"] = _place_on_the_board(sitting, place)
    made = Question.objects.visible_to(person(request)).filter(origin=review.version.question_id)
    context["variants"] = made.exclude(state=State.RETIRED).order_by("number")[:MOST_VARIANTS]
    about = {"assignment": pk, "class": assignment.school_class_id, "pupil": pupil_pk}
    record(Deed.PUPIL_RESULTS_SEEN, by=person(request), about=about)
    return render(request, TEMPLATE, context | _neighbours(place, sitting, "assignments:result_review", pk, pupil_pk))


def _context(request: HttpRequest, sitting: Sitting, review: Review, *, number: int) -> dict[str, Any]:
    """Return what the page shows; the step of the unfolding is named in the address, else it is the first."""
    asked = request.GET.get("step", "")
    step = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 3 else 0
    step = min(step, len(review.steps) - 1)
    return {
        "sitting": sitting,
        "review": review,
        "number": number,
        "step": step,
        "shown": review.steps[step],
    }


def _place_on_the_board(sitting: Sitting, position: int) -> int:
    """Paper 2 is shown after Paper 1."""
    return (max(number_of(sitting.paper), 1) - 1) * len(sitting.paper) + position


def _neighbours(number: int, sitting: Sitting, name: str, *args: int) -> dict[str, str]:
    """Return the addresses of the questions before and after, where there are such."""
    last = len(sitting.paper)
    return {
        "previous": reverse(name, args=[*args, number - 1]) if number > 1 else "",
        "next": reverse(name, args=[*args, number + 1]) if number < last else "",
    }


def _back_to_the_sitting(sitting: Sitting, place: int, at: datetime) -> dict[str, Any]:
    is_last = place == len(sitting.paper)
    further = "assignments:finish" if is_last else "assignments:sitting"
    args = [sitting.pk] if is_last else [sitting.pk, place + 1]
    return {
        "is_running": True,
        "is_last": is_last,
        "next": reverse(further, args=args),
        "seconds_left": sitting.seconds_left(at),
        "up": reverse("assignments:sitting", args=[sitting.pk, place]),
    }


def _review(sitting: Sitting, number: int, *, by_position: bool = False) -> Review | None:
    """Return the review of one place of the pupil's paper, or of the set if ``by_position``."""
    questions = {question.pk: question for question in questions_of(sitting.assignment)}
    (row,) = mark_sittings([sitting], map(as_asked, questions.values()))
    marks = {mark.asked.question: mark for mark in row.marks.each}
    for place in places(sitting.paper):
        mark = marks[place.question]
        if number == (mark.asked.position if by_position else place.number):
            return review_of(questions[place.question], place, mark)
    return None
