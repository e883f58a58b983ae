"""How questions do over all their sittings: those that need repair first, and one version figure by figure."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from accounts.access import adults_only
from assignments.answer_tables import tables_of
from assignments.diagnosis import label_of
from assignments.forms.results import ResultsForm
from assignments.item_statistics import FEW, doubts, faults
from assignments.models import Assignment
from assignments.papers import LETTERS
from assignments.queries import median_seconds, mistakes_behind
from assignments.version_figures import VersionFigures, explain_difficulty, figures_by_version
from assignments.views import person
from bank.display import pictures_for
from bank.models import Picture, Version
from bank.reasons import reasons_for
from geometry.difficulty import WEIGHTS, facilities_of

A_PAGE = 30


@require_safe
@adults_only
def questions(request: HttpRequest) -> HttpResponse:
    """List the questions sat in the assignments that pass the filters, those that do not work first."""
    form = ResultsForm(request.GET, user=person(request))
    status = 200 if form.is_valid() else 400
    tables = tables_of(form.assignments) if status == 200 else []
    figures = figures_by_version(tables)
    versions = Version.objects.visible_to(person(request)).select_related("question").defer("spec", "options", "checks")
    rows = [_row(version, figures[version.pk]) for version in versions.filter(pk__in=figures)]
    rows.sort(
        key=lambda row: (
            -len(row["faults"]),
            -len(row["doubts"]),
            row["version"].question.number,
            row["version"].number,
        )
    )
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    thumbs = pictures_for([row["version"] for row in page], [Picture.Kind.THUMB])
    for row in page:
        row["thumb"] = thumbs[row["version"].pk].thumbs[-1]
    features = {row["version"].pk: row["version"].difficulty.get("features", {}) for row in rows}
    context = {
        "form": form,
        "page": page,
        "to_repair": sum(bool(row["faults"]) for row in rows),
        "explained": explain_difficulty(tables, features, WEIGHTS),
        "query": request.GET.urlencode(),
    }
    return render(request, "assignments/questions.html", context, status=status)


@require_safe
@adults_only
def version(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the figures of one version over all sittings of it in the school. No pupil is named."""
    versions = Version.objects.visible_to(person(request)).select_related("question")
    found = get_object_or_404(versions, pk=pk)
    asked_in = Assignment.objects.filter(school_class__school=person(request).school_id, questions__version=found)
    figures = figures_by_version(tables_of(asked_in)).get(pk)
    context: dict[str, Any] = {"version": found, "question": found.question, "figures": figures, "few": FEW}
    if figures is not None:
        context |= {
            "options": _options(found, figures),
            "faults": _faults(found, figures),
            "doubts": _doubts(figures),
            "seconds": median_seconds([found]).get(pk),
            "expected": facilities_of(found.level),
            "reasons": reasons_for(found.difficulty) if found.difficulty.get("features") else [],
        }
    return render(request, "assignments/version.html", context)


def _row(version: Version, figures: VersionFigures) -> dict[str, Any]:
    return {
        "version": version,
        "figures": figures,
        "faults": _faults(version, figures),
        "doubts": _doubts(figures),
    }


def _faults(version: Version, figures: VersionFigures) -> list[str]:
    expected = facilities_of(version.level)
    return faults(figures.item, figures.options, figures.accepts, figures.sittings, expected)


def _doubts(figures: VersionFigures) -> list[str]:
    return doubts(figures.item, figures.options, figures.accepts, figures.sittings)


def _options(version: Version, figures: VersionFigures) -> list[dict[str, Any]]:
    pictures = pictures_for([version], [Picture.Kind.OPTION])[version.pk].options
    mistakes = mistakes_behind(version)
    return [
        {
            "letter": letter,
            "picture": picture,
            "own": own,
            "percent": 100 * own.share,
            "mean": None if own.mean_mark is None else 100 * own.mean_mark,
            "is_key": letter in figures.accepts,
            "kind": " and ".join(label_of(mistake.kind).lower() for mistake in mistakes[letter]),
        }
        for letter, picture, own in zip(LETTERS, pictures, figures.options, strict=True)
    ]
