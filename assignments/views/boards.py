"""The questions of a set on the board, one after another: as they are in the bank, or as a class had them."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.access import SignedInRequest, adults_only
from assignments.models import Assignment, QuestionSet
from bank.board import Surround, board_page
from bank.models import Version


@require_safe
@adults_only
def of_set(request: SignedInRequest, pk: int, place: int) -> HttpResponse:
    """Show the question at a place of a set, as it now is in the bank."""
    question_set = get_object_or_404(QuestionSet.objects.visible_to(request.user), pk=pk)
    entries = question_set.entries.filter(question__current__isnull=False).select_related("question__current")
    versions = [version for entry in entries.order_by("position") if (version := entry.question.current)]
    close = reverse("assignments:set_detail", args=[pk])
    return _show(request, versions, place, question_set.title, close, "assignments:set_board", pk)


@require_safe
@adults_only
def of_assignment(request: SignedInRequest, pk: int, place: int) -> HttpResponse:
    """Show the question at a place of what was assigned, in the version that the class had; Paper 2 after Paper 1."""
    assignment = get_object_or_404(Assignment.objects.visible_to(request.user), pk=pk)
    asked = assignment.questions.select_related("version").order_by("paper", "position")
    close = reverse("assignments:result", args=[pk])
    versions = [question.version for question in asked]
    papers = assignment.papers
    return _show(request, versions, place, assignment.title, close, "assignments:result_board", pk, papers=papers)


def _show(
    request: SignedInRequest,
    versions: Sequence[Version],
    place: int,
    title: str,
    close: str,
    name: str,
    pk: int,
    *,
    papers: int = 1,
) -> HttpResponse:
    if not 1 <= place <= len(versions):
        raise Http404
    count = len(versions) // papers
    paper, number = divmod(place - 1, count)
    surround = Surround(
        f"{title}{f', Paper {paper + 1}' if papers > 1 else ''}, question {number + 1} of {count}",
        close,
        reverse(name, args=[pk, place - 1]) if place > 1 else "",
        reverse(name, args=[pk, place + 1]) if place < len(versions) else "",
    )
    return render(request, "bank/board.html", board_page(versions[place - 1], request.GET, surround))
