"""The history of a question: each version with a picture of what changed; an old one can be had back as a new one."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from accounts.access import SignedInRequest, adults_only
from bank.changes import changes_between
from bank.display import LETTERS, Pictures, pictures_for
from bank.drawing import Kind
from bank.errors import BankError
from bank.models import Question, Version
from bank.services.questions import restore_version

A_PAGE = 10


@require_safe
@adults_only
def versions(request: SignedInRequest, pk: int) -> HttpResponse:
    question = _find(request, pk)
    every = question.versions.select_related("author").order_by("-number")
    page = Paginator(every, A_PAGE).get_page(request.GET.get("page"))
    shown = list(page)
    before_them = every.filter(number__lt=shown[-1].number)[:1]  # what the oldest on this page is held against
    context = {"question": question, "page": page, "rows": _rows([*shown, *before_them], len(shown))}
    return render(request, "bank/versions.html", context)


@require_POST
@adults_only
def restore(request: SignedInRequest, pk: int, number: int) -> HttpResponse:
    question = _find(request, pk)
    version = get_object_or_404(question.versions, number=number)
    seen = request.POST.get("current", "")
    try:
        based_on = int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 6 else None
        made = restore_version(question=question, version=version, based_on=based_on, by=request.user)
    except BankError as error:
        messages.error(request, str(error))
        return redirect("bank:versions", pk)
    messages.success(request, f"Version {number} is back, as version {made}.")
    return redirect("bank:detail", pk)


def _rows(versions: list[Version], count: int) -> list[dict[str, Any]]:
    """Return what is shown of the first ``count`` versions, newest first, each held against the one before it."""
    pictures = pictures_for(versions, [Kind.THUMB, Kind.OPTION])
    rows = [_row(new, old, pictures) for new, old in pairwise(versions)]
    if len(rows) < count:
        first = versions[-1]
        rows.append({"version": first, "after": _shown(first, pictures[first.pk]), "says": ["The first version."]})
    return rows


def _row(new: Version, old: Version, pictures: dict[int, Pictures]) -> dict[str, Any]:
    changes = changes_between(old, new)
    before, after = pictures[old.pk], pictures[new.pk]
    return {
        "version": new,
        "says": changes.says,
        "stems": (before.thumbs, after.thumbs) if changes.paper else None,
        "answers": (_option(before, old.key), _option(after, new.key)) if changes.key else None,
        "options": [(letter, _option(before, letter), _option(after, letter)) for letter in changes.options],
        "after": _shown(new, after),
    }


def _shown(version: Version, pictures: Pictures) -> dict[str, Any]:
    return {"stem": pictures.thumbs, "key": _option(pictures, version.key)}


def _option(pictures: Pictures, letter: str) -> Any:
    """The picture of an option, or None where a draft has none."""
    place = LETTERS.index(letter)
    return pictures.options[place] if place < len(pictures.options) else None


def _find(request: SignedInRequest, pk: int) -> Question:
    questions = Question.objects.visible_to(request.user).select_related("current", "school")
    return get_object_or_404(questions.filter(current__isnull=False), pk=pk)
