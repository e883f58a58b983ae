"""Questions made from a question of the bank: parallel variants, or a sister that cannot be guessed."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from accounts.access import SignedInRequest, adults_only
from bank.asking import MIXED, MOST_VARIANTS, SISTER, VARIANTS, Ask
from bank.errors import TooMuchAsked
from bank.forms.asking import draw_seed
from bank.models import Question
from bank.services.batches import start_batch


@require_POST
@adults_only
def variants(request: SignedInRequest, pk: int) -> HttpResponse:
    """Ask for as many variants as chosen; for a number that is none, one."""
    typed = request.POST.get("count", "")
    count = int(typed) if typed in map(str, range(1, MOST_VARIANTS + 1)) else 1
    return _start(request, pk, Ask(count, draw_seed(), arrangement=MIXED, kind=VARIANTS))


@require_POST
@adults_only
def sister(request: SignedInRequest, pk: int) -> HttpResponse:
    return _start(request, pk, Ask(1, draw_seed(), arrangement=MIXED, kind=SISTER))


def _start(request: SignedInRequest, pk: int, ask: Ask) -> HttpResponse:
    questions = Question.objects.visible_to(request.user).filter(current__isnull=False)
    question = get_object_or_404(questions, pk=pk)
    try:
        batch = start_batch(ask=ask, by=request.user, at=timezone.now(), origin=question)
    except TooMuchAsked as error:
        context = {"question": question, "says": str(error)}
        response = render(request, "bank/asked_too_much.html", context, status=429)
        response["Retry-After"] = str(error.wait)
        return response
    return redirect("bank:batch", batch.pk)
