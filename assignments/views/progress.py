"""Over a term: a pupil, a class, and sets beside each other, always with the difficulty of the sets considered."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from accounts.access import adults_only
from accounts.models import SchoolClass, User
from accounts.trail import Deed, record
from assignments.answer_tables import AnswerTable, marks_side_by_side, tables_of
from assignments.charts import Chart, chart_of
from assignments.diagnosis import count_mistakes, find_habit
from assignments.forms.results import ResultsForm
from assignments.item_statistics import FEW, SetStatistics, set_statistics
from assignments.models import Assignment, Sitting
from assignments.progress import Score, Step, said_of, scores_by_sitting
from assignments.queries import in_class_or_among, sent_to
from assignments.querysets import SittingQuerySet
from assignments.results import mark_everywhere
from assignments.services.clock import database_now
from assignments.views import person
from bank.models import Version

MOST_SETS = 60  # beside each other, the newest
MOST_COLUMNS = 12  # sets beside each other, pupil by pupil, the newest
MOST_WAITING = 12  # not begun, the newest


@require_safe
@adults_only
def of_class(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a class over its sets. Practice that went to some pupils only is left out."""
    school_class = get_object_or_404(SchoolClass.objects.visible_to(person(request)), pk=pk)
    found = Assignment.objects.visible_to(person(request)).filter(school_class=school_class, for_some=False)
    sittings = Sitting.objects.filter(assignment__in=found)
    scores = _scores(tables_of(found))
    steps = _steps(scores, sittings)
    record(Deed.RESULTS_SEEN, by=person(request), about={"class": pk})
    context = {
        "school_class": school_class,
        "steps": steps,
        "said": said_of(steps),
        "chart": _chart(steps),
        "columns": list(enumerate(steps, 1))[-MOST_COLUMNS:],
        "pupils": _pupil_by_pupil(school_class, steps[-MOST_COLUMNS:], scores, sittings),
        "waiting": _waiting(found.filter(sittings=None)),
        "now": database_now(),
    }
    return render(request, "assignments/progress_class.html", context)


@require_safe
@adults_only
def of_pupil(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a pupil over a term, and what all the answers tell together."""
    sittings = Sitting.objects.visible_to(person(request)).filter(pupil=pk)
    known = Q(pk__in=User.objects.pupils_visible_to(person(request)).values("pk")) | Q(sittings__in=sittings)
    pupil = get_object_or_404(User.objects.pupils().filter(known).distinct(), pk=pk)
    tables = tables_of(Assignment.objects.filter(sittings__in=sittings), only=sittings)
    steps = _steps(_scores(tables), sittings)
    marks = [row.marks for row in mark_everywhere(sittings.select_related("pupil"))]
    record(Deed.PUPIL_RESULTS_SEEN, by=person(request), about={"pupil": pk})
    context = {
        "pupil": pupil,
        "steps": steps,
        "said": said_of(steps),
        "chart": _chart(steps),
        "finding": find_habit(pupil, marks),
        "mistakes": count_mistakes((pupil, one) for one in marks),
        "waiting": _waiting(sent_to(pupil, by=person(request)).exclude(sittings__pupil=pupil)),
        "now": database_now(),
    }
    return render(request, "assignments/progress_pupil.html", context)


@require_safe
@adults_only
def sets(request: HttpRequest) -> HttpResponse:
    """Show the sets that pass the filters beside each other: marks, what was predicted, and reliability."""
    form = ResultsForm(request.GET, user=person(request))
    status = 200 if form.is_valid() else 400
    found = form.assignments.filter(for_some=False) if status == 200 else Assignment.objects.none()
    newest = found.filter(pk__in=list(found.order_by("-opens_at").values_list("pk", flat=True)[:MOST_SETS]))
    tables, sittings = tables_of(newest), Sitting.objects.filter(assignment__in=newest)
    steps, whole = _steps(_scores(tables), sittings), _whole(tables, sittings)
    rows = [{"step": step, "whole": whole.get(step.assignment.pk), "few": len(step.scores) < FEW} for step in steps]
    context = {"form": form, "rows": rows[::-1], "most": MOST_SETS if len(rows) == MOST_SETS else 0}
    return render(request, "assignments/set_comparison.html", context, status=status)


def _waiting(found: QuerySet[Assignment]) -> list[Assignment]:
    """Return what nobody meant has begun, the newest first."""
    return list(found.select_related("school_class").order_by("-opens_at", "-pk")[:MOST_WAITING])


def _scores(tables: list[AnswerTable]) -> dict[int, Score]:
    """Return the score of every sitting in the tables (1 query)."""
    versions = {item.version for table in tables for item in table.items}
    predicted = {pk: level["facility"] for pk, level in _difficulties(versions) if "facility" in level}
    return scores_by_sitting(tables, predicted)


def _pupil_by_pupil(
    school_class: SchoolClass, steps: list[Step], scores: dict[int, Score], sittings: SittingQuerySet
) -> list[tuple[User, list[Score | None]]]:
    """Return who is in the class or sat a set with it, by name, each with the score in every step (2 queries)."""
    rows = sittings.values_list("pupil", "assignment", "pk")
    found = {(pupil, assignment): scores[pk] for pupil, assignment, pk in rows if pk in scores}
    pupils = in_class_or_among(school_class, [pupil for pupil, _ in found])
    return [(pupil, [found.get((pupil.pk, step.assignment.pk)) for step in steps]) for pupil in pupils]


def _steps(scores: dict[int, Score], sittings: SittingQuerySet) -> list[Step]:
    """Return a step for each assignment that somebody has a score in, in the order they opened (1 query)."""
    whose: dict[Assignment, list[Score]] = defaultdict(list)
    for sitting in sittings.select_related("assignment__school_class").defer("paper"):
        if sitting.pk in scores:
            whose[sitting.assignment].append(scores[sitting.pk])
    steps = [Step(assignment, tuple(found)) for assignment, found in whose.items()]
    return sorted(steps, key=lambda step: (step.assignment.opens_at, step.assignment.pk))


def _difficulties(versions: set[int]) -> list[tuple[int, dict[str, Any]]]:
    return list(Version.objects.filter(pk__in=versions).values_list("pk", "difficulty"))


def _whole(tables: list[AnswerTable], sittings: SittingQuerySet) -> dict[int, SetStatistics]:
    """Return the figures of each assignment as a whole, by its primary key (1 query)."""
    of = dict(sittings.values_list("pk", "assignment"))
    parts: dict[int, list[AnswerTable]] = defaultdict(list)  # one for each paper
    for table in tables:
        rows: dict[int, list[int]] = defaultdict(list)
        for row, sitting in enumerate(table.sittings):
            rows[of[sitting]].append(row)
        for assignment, places in rows.items():
            parts[assignment].append(table.only(places))
    return {assignment: set_statistics(marks_side_by_side(papers)) for assignment, papers in parts.items()}


def _chart(steps: list[Step]) -> Chart | None:
    """A single set makes no line; its figures stand in the table."""
    return chart_of(steps) if len(steps) > 1 else None
