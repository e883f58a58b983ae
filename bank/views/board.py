"""A question on the board, for a projector or a shared screen. Sets show theirs one after another by the same page."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from accounts.access import SignedInRequest, adults_only
from bank.board import board_of
from bank.models import Question, Version


@dataclass(frozen=True)
class Frame:
    """What stands about a board: its name, where closing it leads, and the boards before and after it in a set."""

    title: str
    close: str
    earlier: str = ""
    later: str = ""


@require_safe
@adults_only
def board(request: SignedInRequest, pk: int) -> HttpResponse:
    questions = Question.objects.visible_to(request.user).select_related("current")
    question = get_object_or_404(questions.filter(current__isnull=False), pk=pk)
    assert question.current is not None  # by the filter
    frame = Frame(str(question), reverse("bank:detail", args=[pk]))
    return show_board(request, question.current, frame)


def show_board(request: SignedInRequest, version: Version, frame: Frame) -> HttpResponse:
    """Show the slide that the address asks for; tilted if it asks for that and a slanting crease is seen."""
    shown = board_of(version, request.GET.get("at", ""))
    tilt = shown.slide.turn.tilt if shown.slide.turn else 0
    is_tilted = bool(tilt) and request.GET.get("tilt") == "1"
    context = {"board": shown, "frame": frame, "tilt": tilt, "is_tilted": is_tilted, "turned": tilt if is_tilted else 0}
    return render(request, "bank/board.html", context)
