"""Results for adults: assignments in view, the table of a class, and one pupil's sitting."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import datetime
from functools import partial
from statistics import mean
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.access import adults_only
from accounts.trail import Deed, record
from assignments.diagnosis import are_too_few, count_mistakes, find_habit, label_of
from assignments.figures import Figures
from assignments.forms.results import ResultsForm
from assignments.handing_out import name_of, papers_given
from assignments.kinds import marks_by_kind
from assignments.models import Assignment
from assignments.papers import LETTERS, places
from assignments.queries import ended_by_adult, may_go_again, mistakes_behind, practisers_of, sent_again
from assignments.querysets import SETTERS
from assignments.results import Column, Results, Row, results_of
from assignments.services.clock import database_now
from assignments.views import person
from bank.display import pictures_for
from bank.models import Picture

A_PAGE = 30
SORTS: dict[str, Callable[[Results, Row], tuple[float, ...]]] = {
    "name": lambda results, row: (),  # as they come
    "mark": lambda results, row: (-results.mark_of(row), row.marks.wrong),
    "time": lambda results, row: (-row.marks.seconds,),
    "paper": lambda results, row: (row.paper,),
}


@require_safe
@adults_only
def listing(request: HttpRequest) -> HttpResponse:
    form = ResultsForm(request.GET, user=person(request))
    status = 200 if form.is_valid() else 400
    found = form.assignments if status == 200 else Assignment.objects.none()
    page = Paginator(found.for_list(), A_PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "at": database_now(), "query": request.GET.urlencode()}
    return render(request, "assignments/results.html", context, status=status)


@require_safe
@adults_only
def result(request: HttpRequest, pk: int) -> HttpResponse:
    """Show pupils by questions, the facility of each question, and the mistakes behind wrong choices."""
    at = database_now()
    results = results_of(_find(request, pk))
    sort = request.GET.get("sort", "")
    picked = _picked_number(request, results)
    sort = sort if sort in SORTS or (sort == "answer" and picked) else "name"
    ended = results.ended(at)
    running = len(results.sat) - len(ended.sat)
    is_going_on = running > 0 or at < results.assignment.closes_at
    may_change = person(request).role in SETTERS
    may_send_again = may_change and not is_going_on and may_go_again(results.assignment)
    again = sent_again(results.assignment, results.absent)
    absent = [(pupil, again.get(pupil.pk)) for pupil in results.absent]
    context = {
        "assignment": results.assignment,
        "results": results,
        "ended": ended,
        "figures": Figures(ended),
        "columns": _columns(ended, picked),
        "pictures": _pictures(results, picked),
        "rows": [_row(results, row, picked, at) for row in _sorted(results, sort, picked)],
        "sort": sort,
        "shows_times": request.GET.get("show") == "time",
        "absent_count": len(results.absent),
        "running": running,
        "is_going_on": is_going_on,
        "mistakes": count_mistakes((row.pupil, row.marks) for row in results.sat),
        "kinds": marks_by_kind(results.questions, [row.marks for row in ended.sat]),
        "too_few": are_too_few(row.marks for row in results.sat),
        "picked": [_picked(part, picked - 1) for part in _begun(results, ended)] if picked else [],
        "papers": _papers(ended),
        "ruled": [(name_of(one, results.assignment), one.ruling.says) for one in results.questions if one.ruling],
        "export": f"{reverse('assignments:export_answers')}?assignment={pk}",
        "may_change": may_change,
        "absent": absent,
        "to_send": [pupil for pupil, again in absent if not again] if may_send_again else [],
    }
    _keep_trail(request, Deed.RESULTS_SEEN, results.assignment)
    return render(request, "assignments/result.html", context)


@require_safe
@adults_only
def pupil(request: HttpRequest, pk: int, pupil_pk: int) -> HttpResponse:
    """Show one pupil's sitting, question by question."""
    at = database_now()
    results = results_of(_find(request, pk))
    _keep_trail(request, Deed.PUPIL_RESULTS_SEEN, results.assignment, pupil=pupil_pk)
    row = results.row_of(pupil_pk)
    absent = next((one for one in results.absent if one.pk == pupil_pk), None)
    if row is None:
        pupil = absent or get_object_or_404(results.assignment.sittings, pupil=pupil_pk).pupil
        context = {"assignment": results.assignment, "pupil": pupil, "at": at}
        return render(request, "assignments/result_pupil.html", context)
    context = {
        "assignment": results.assignment,
        "pupil": row.pupil,
        "row": row,
        "mark": results.mark_of(row),
        "answers": _answers(results, row),
        "mistakes": count_mistakes([(row.pupil, row.marks)]),
        "kinds": marks_by_kind(results.questions, [row.marks]),
        "finding": find_habit(row.pupil, [row.marks]),
        "may_send": row.pupil.pk in practisers_of(results.assignment, person(request)),
        "ended_at": row.sitting.ended_at(at),
        "by_adult": ended_by_adult(results.assignment)(row.sitting),
        "at": at,
    }
    return render(request, "assignments/result_pupil.html", context)


def _sorted(results: Results, sort: str, picked: int) -> list[Row]:
    """Sort by name, mark or time, or by the answer to the question picked: right first, then letter by letter."""
    if sort != "answer":
        return sorted(results.sat, key=partial(SORTS[sort], results))
    answers = [(row.marks.each[picked - 1], row) for row in results.sat]
    order = sorted(answers, key=lambda pair: (pair[0].outcome != "right", pair[0].choice or "~"))
    return [row for _, row in order]


def _keep_trail(request: HttpRequest, deed: Deed, assignment: Assignment, **others: int) -> None:
    about = {"assignment": assignment.pk, "class": assignment.school_class_id, **others}
    record(deed, by=person(request), about=about)


def _find(request: HttpRequest, pk: int) -> Assignment:
    found = Assignment.objects.visible_to(person(request)).select_related("school_class", "question_set")
    return get_object_or_404(found, pk=pk)


def _picked_number(request: HttpRequest, results: Results) -> int:
    """Return the number in the set of the question asked for in the address; 0 for none."""
    asked = request.GET.get("question", "")
    number = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 4 else 0
    return number if number <= len(results.columns) else 0


def _begun(results: Results, ended: Results) -> list[Results]:
    """Of each paper that somebody has begun, the results of those who have ended, who may be none yet."""
    return [part for part, all_of_it in zip(ended.papers, results.papers, strict=True) if all_of_it.sat]


def _papers(results: Results) -> list[dict[str, Any]]:
    """Each of several papers: its number, who has it, and how it went; none where all have the same."""
    if results.assignment.papers == 1:
        return []
    given = Counter(papers_given(results.assignment).values())
    return [
        {
            "number": number,
            "pupils": given[number],
            "sat": len(part.sat),
            "mean": mean(part.mark_of(row) for row in part.sat) if part.sat else None,
            "counted": len(part.counted),
        }
        for number, part in enumerate(results.papers, 1)
    ]


def _pictures(results: Results, picked: int) -> list[list[tuple[Picture, bool]]]:
    """A row for each paper: the picture of each question, and whether it is the one picked."""
    thumbs = pictures_for([question.version for question in results.questions], [Picture.Kind.THUMB])
    return [
        [(thumbs[one.version_id].thumbs[-1], place == picked) for place, one in enumerate(part.questions, 1)]
        for part in results.papers
    ]


def _columns(results: Results, picked: int) -> list[dict[str, Any]]:
    figures = Figures(results)
    items = figures.items
    return [
        {
            "facility": column.facility,
            "item_rest": items[place].item_rest if place in items else None,
            "is_picked": place + 1 == picked,
            "seconds": figures.seconds(place),
        }
        for place, column in enumerate(results.columns)
    ]


def _row(results: Results, row: Row, picked: int, at: datetime) -> dict[str, Any]:
    cells = [{"mark": mark, "is_picked": place == picked} for place, mark in enumerate(row.marks.each, 1)]
    sitting = row.sitting
    state = {"is_running": sitting.is_running(at), "is_on_paper": sitting.is_on_paper}
    of = row.marks.asked if row.marks.asked != results.most else 0  # where a ruling left fewer on this pupil's paper
    facts = {"pupil": row.pupil, "paper": row.paper, "marks": row.marks, "mark": results.mark_of(row), "of": of}
    return facts | {"cells": cells} | state


def _picked(results: Results, place: int) -> dict[str, Any]:
    column: Column = results.columns[place]
    figures = Figures(results)
    version = column.question.version
    pictures = pictures_for([version], [Picture.Kind.OPTION])[version.pk].options
    mistakes = mistakes_behind(version)
    options = [
        {
            "letter": letter,
            "picture": picture,
            "count": column.chosen[letter],
            "mean_mark": own.mean_mark,
            "is_key": letter in (column.question.accepts or version.key),
            "kind": " and ".join(label_of(mistake.kind).lower() for mistake in mistakes[letter]),
        }
        for letter, picture, own in zip(LETTERS, pictures, figures.options(place), strict=True)
    ]
    return {
        "column": column,
        "paper": column.question.paper if results.assignment.papers > 1 else 0,
        "options": options,
        "unanswered": column.chosen[""],
        "efficiency": figures.efficiency(place),
        "seconds": figures.seconds(place),
        "rasch": figures.rasch(place),
    }


def _answers(results: Results, row: Row) -> list[dict[str, Any]]:
    shown = {place.question: place for place in places(row.sitting.paper)}
    questions = {question.pk: question for question in results.questions}
    thumbs = pictures_for([q.version for q in results.questions], [Picture.Kind.THUMB])
    return [
        {
            "mark": mark,
            "question": questions[mark.asked.question],
            "letter": shown[mark.asked.question].shown(mark.choice),
            "struck": ", ".join(sorted(shown[mark.asked.question].shown(one) for one in mark.standing.struck)),
            "late_letter": shown[mark.asked.question].shown(mark.standing.late_choice),
            "thumb": thumbs[questions[mark.asked.question].version_id].thumbs[-1],
        }
        for mark in row.marks.each
    ]
