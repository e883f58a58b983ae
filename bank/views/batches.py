"""Questions from the generator: ask for them, watch them come, look them through, save those kept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_htmx.http import HttpResponseClientRefresh

from accounts.access import SignedInRequest, adults_only
from bank.asking import Ask, what_ran_out
from bank.errors import BankError, TooMuchAsked
from bank.forms.asking import AskForm, SaveForm
from bank.looking import show
from bank.models import Batch, Question, Tag
from bank.services import batches as services

A_CHUNK = 1.0  # seconds of drawing in the time of one request that a script sends
A_CLICK = 4.0  # and of one that a person sends
SLOW = timedelta(seconds=15)  # after which a page no longer waits for a worker, and draws itself


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def make(request: SignedInRequest) -> HttpResponse:
    """Ask for questions. 400 with what is wrong beside it, 429 when it is too much at once; nothing typed is lost."""
    form = AskForm(request.POST if request.method == "POST" else None)
    status = 400 if form.is_bound else 200
    wait = 0
    if form.is_valid():
        try:
            batch = services.start_batch(ask=form.ask(), by=request.user, at=timezone.now())
        except TooMuchAsked as error:
            form.add_error(None, str(error))
            status, wait = 429, error.wait
        else:
            return redirect("bank:batch", batch.pk)
    waiting = Batch.objects.visible_to(request.user).filter(saved_at=None).select_related("origin")
    response = render(request, "bank/make.html", {"form": form, "waiting": waiting}, status=status)
    if wait:
        response["Retry-After"] = str(wait)
    return response


@require_safe
@adults_only
def batch(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show how far the drawing is, and what was made. For a script that asks again: only what is new."""
    found = _find(request, pk)
    if getattr(request, "htmx", False):
        return _what_is_new(request, found)
    return _page(request, found, SaveForm())


@require_POST
@adults_only
def go_on(request: SignedInRequest, pk: int) -> HttpResponse:
    """Draw some more, here: a bit at a time by a script, more at a click."""
    found = _find(request, pk)
    if getattr(request, "htmx", False):
        services.draw(batch=found, seconds=A_CHUNK)
        return _what_is_new(request, found)
    services.draw(batch=found, seconds=A_CLICK)
    return redirect("bank:batch", pk)


@require_POST
@adults_only
def stop(request: SignedInRequest, pk: int) -> HttpResponse:
    services.stop(batch=_find(request, pk), at=timezone.now())
    return redirect("bank:batch", pk)


@require_POST
@adults_only
def candidate(request: SignedInRequest, pk: int, place: int) -> HttpResponse:
    """Keep, reject or replace what stands at a place."""
    found = _find(request, pk)
    do, says, status = request.POST.get("do", ""), "", 200
    try:
        if do == "another":
            services.replace(batch=found, place=place, at=timezone.now())
        elif do in ("keep", "reject"):
            services.set_kept(batch=found, place=place, kept=do == "keep")
    except BankError as error:
        says, status = str(error), 429 if isinstance(error, TooMuchAsked) else 409
    if getattr(request, "htmx", False):
        return _one(request, found, place, says, status)
    if says:
        messages.error(request, says)
    return redirect(f"{reverse('bank:batch', args=[pk])}#place-{place}")


@require_POST
@adults_only
def save(request: SignedInRequest, pk: int) -> HttpResponse:
    """Put what is kept into the bank, all or nothing."""
    found = _find(request, pk)
    form = SaveForm(request.POST)
    if form.is_valid():
        try:
            saved = services.save_kept(batch=found, at=timezone.now(), **form.cleaned_data)
        except BankError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _saved(saved))
            return redirect("bank:batch", pk)
    return _page(request, found, form, status=400)


def _page(request: SignedInRequest, batch: Batch, form: SaveForm, *, status: int = 200) -> HttpResponse:
    shown = show(batch, batch.shown())
    kept = [one for one in shown if one.candidate.kept]
    context = _progress(batch) | {
        "shown": shown,
        "kept": len(kept),
        "form": form,
        "tags": Tag.objects.filter(school=request.user.school_id),
    }
    return render(request, "bank/batch.html", context, status=status)


def _what_is_new(request: SignedInRequest, batch: Batch) -> HttpResponse:
    """The progress, and what was made for places after the one the page has last. At the end the page comes anew."""
    batch.refresh_from_db()
    if batch.ended_at is not None:
        return HttpResponseClientRefresh()
    after = request.GET.get("after", "")
    last = int(after) if after.isascii() and after.isdigit() and len(after) < 6 else 0
    newest = batch.shown()
    new = [one for one in newest if one.place > last]
    context = _progress(batch) | {"shown": show(batch, new, len(newest) - len(new) + 1), "is_part": True}
    return render(request, "bank/parts/batch_progress.html", context)


def _progress(batch: Batch) -> dict[str, object]:
    made = batch.candidates.filter(turn=0).count()
    ask = Ask.from_json(batch.ask)
    waits = batch.ended_at is None
    last = batch.candidates.order_by("-place").values_list("place", flat=True).first() or 0
    return {
        "batch": batch,
        "ask": ask,
        "made": made,
        "last": last,
        "waits": waits,
        "draws_here": waits and (not batch.queued or timezone.now() - batch.moved_at > SLOW),
        "ran_out": batch.why or what_ran_out(ask.wishes(), batch.gaps, ask.sets),
    }


def _one(request: SignedInRequest, batch: Batch, place: int, says: str, status: int) -> HttpResponse:
    """The candidate at a place, and how many are kept now."""
    shown = show(batch, batch.shown())
    found = next((one for one in shown if one.candidate.place == place), None)
    if found is None:
        raise Http404
    kept = sum(one.candidate.kept for one in shown)
    context = {"batch": batch, "one": found, "says": says, "kept": kept, "is_part": True}
    return render(request, "bank/parts/candidate.html", context, status=status)


def _saved(questions: Sequence[Question]) -> str:
    numbers = [question.number for question in questions]
    if len(numbers) == 1:
        return f"Question {numbers[0]} is saved."
    return f"{len(numbers)} questions are saved: {numbers[0]} to {numbers[-1]}."


def _find(request: SignedInRequest, pk: int) -> Batch:
    return get_object_or_404(
        Batch.objects.visible_to(request.user).select_related("school", "asked_by", "origin__current"), pk=pk
    )
