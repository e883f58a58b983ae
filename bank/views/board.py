"""A question on the board, for a projector or a shared screen."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.access import SignedInRequest, adults_only
from bank.board import Surround, board_page
from bank.models import Question


@require_safe
@adults_only
def board(request: SignedInRequest, pk: int) -> HttpResponse:
    questions = Question.objects.visible_to(request.user).select_related("current")
    question = get_object_or_404(questions.filter(current__isnull=False), pk=pk)
    assert question.current is not None  # by the filter
    surround = Surround(str(question), reverse("bank:detail", args=[pk]))
    return render(request, "bank/board.html", board_page(question.current, request.GET, surround))
