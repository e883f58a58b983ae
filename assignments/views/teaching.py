"""What to teach next: the mistakes of a class ranked, each pupil's pattern, and practice sent by one click."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from accounts.access import adults_only, roles
from accounts.trail import Deed, record
from assignments.diagnosis import Lesson, count_mistakes, find_habits, lessons_from
from assignments.errors import SetError
from assignments.forms.practice import PracticeForm
from assignments.handing_out import name_of
from assignments.models import AssignedQuestion, Assignment
from assignments.queries import practisers_of
from assignments.querysets import SETTERS
from assignments.results import Results, results_of
from assignments.services.clock import database_now
from assignments.services.practice import practice_for
from assignments.views import person
from bank.display import pictures_for
from bank.models import Picture

FIRST = 5  # lessons seen at once; the others are folded away


@require_safe
@adults_only
def teach(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what to teach next after one assignment, and what each pupil's choices tell."""
    found = Assignment.objects.visible_to(person(request)).select_related("school_class")
    assignment = get_object_or_404(found, pk=pk)
    results = results_of(assignment)
    marked = [(row.pupil, row.marks) for row in results.sat]
    findings = find_habits(marked)
    practisers = practisers_of(assignment, person(request))
    lessons = _lessons(results, lessons_from(count_mistakes(marked), findings), practisers)
    few = [finding for finding in findings if finding.belief.is_too_few]
    judged = [finding for finding in findings if not finding.belief.is_too_few]
    about = {"assignment": pk, "class": assignment.school_class_id}
    record(Deed.RESULTS_SEEN, by=person(request), about=about)
    context = {
        "assignment": assignment,
        "lessons": lessons[:FIRST],
        "further": lessons[FIRST:],
        "findings": findings,
        "judged": sorted(judged, key=lambda finding: -finding.belief.sureness),
        "few": few,
        "named": sum(finding.kind is not None for finding in findings),
    }
    return render(request, "assignments/teach.html", context)


@require_POST
@roles(*SETTERS)
def practice(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a practice set from one mistake and send it to the pupils named in the form."""
    found = Assignment.objects.managed_by(person(request)).select_related("school_class")
    assignment = get_object_or_404(found, pk=pk)
    form = PracticeForm(request.POST, assignment=assignment)
    if not form.is_valid():
        messages.error(request, f"{form.refusal} Nothing was sent.")
        return redirect("assignments:teach", pk)
    pupils = list(form.cleaned_data["pupil"])
    try:
        made = practice_for(
            kind=form.cleaned_data["kind"],
            pupils=pupils,
            school_class=assignment.school_class,
            by=person(request),
            at=database_now(),
        )
    except SetError as error:
        messages.error(request, str(error))
        return redirect("assignments:teach", pk)
    names = ", ".join(pupil.name for pupil in pupils)
    messages.success(
        request, f"{made.title} is sent to {names}. Nobody else sees it; you can change it or take it back."
    )
    return redirect("assignments:result", made.pk)


def _lessons(results: Results, lessons: list[Lesson], practisers: set[int]) -> list[dict[str, Any]]:
    """Each lesson with the questions that showed it, and who is suggested for practice, of those who may have it."""
    asked: dict[int, list[AssignedQuestion]] = defaultdict(list)  # of several papers, one each
    for question in results.questions:
        asked[question.position].append(question)
    thumbs = pictures_for([question.version for question in results.questions], [Picture.Kind.THUMB])
    found = [_lesson(results, lesson, asked, thumbs) for lesson in lessons]
    return [one | {"for": [(pupil, tick) for pupil, tick in one["for"] if pupil.pk in practisers]} for one in found]


def _lesson(
    results: Results, lesson: Lesson, asked: Mapping[int, list[AssignedQuestion]], thumbs: dict[int, Any]
) -> dict[str, Any]:
    each = [_shown_by(results, lesson, one, thumbs) for place in lesson.mistake.positions for one in asked[place]]
    shown_by = [one for one in each if one["whose"]]
    return {
        "mistake": lesson.mistake,
        "habitual": lesson.habitual,
        "shown_by": shown_by,
        "best": max(shown_by, key=lambda one: len(one["whose"])),
        "for": _suggested(lesson),
    }


def _suggested(lesson: Lesson) -> list[tuple[Any, bool]]:
    """All who made the mistake; ticked for practice are those with a habit, else whoever repeated it."""
    habitual = {finding.pupil for finding in lesson.habitual}
    fewest = 2 if lesson.mistake.repeated else 1
    made = lesson.mistake.pupils
    return [(pupil, pupil in habitual if habitual else count >= fewest) for pupil, count in made]


def _shown_by(results: Results, lesson: Lesson, asked: AssignedQuestion, thumbs: dict[int, Any]) -> dict[str, Any]:
    """A question with its picture, and the pupils whose choice there stands for the mistake."""
    marks = [(row.pupil, mark) for row in results.sat for mark in row.marks.each if mark.asked.question == asked.pk]
    whose = [pupil for pupil, mark in marks if lesson.mistake.kind in {mistake.kind for mistake in mark.mistakes}]
    return {
        "asked": asked,
        "name": name_of(asked, results.assignment),
        "thumb": thumbs[asked.version_id].thumbs[-1],
        "whose": whose,
        "on_board": results.questions.index(asked) + 1,
    }
