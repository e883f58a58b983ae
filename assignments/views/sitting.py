"""The sitting itself: a question, what is sent from it, the look over all of them, and handing in."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.access import pupils_only
from assignments.contact import note_contact
from assignments.errors import OrderTaken, Refused
from assignments.forms.answering import AnswerForm
from assignments.marking import standings
from assignments.models import Sitting
from assignments.papers import places
from assignments.pupil_pages import question_page, tape_of
from assignments.queries import acts_of, last_seq
from assignments.school_time import say_left
from assignments.services.clock import database_now
from assignments.services.sittings import finish_sitting, record_event
from assignments.views import person
from assignments.views.at_once import answered_at_once, is_part, keep_at_once, receipt, show_at_once
from assignments.views.devices import device_of
from assignments.views.plain_form import answer_plain_form


@answered_at_once(show_at_once)
@require_safe
@pupils_only
def question(request: HttpRequest, pk: int, place: int) -> HttpResponse:
    """Show one question; to the page's script, which keeps the next ones ready, the part that changes."""
    at = database_now()
    sitting = _own(request, pk)
    page = question_page(sitting, place, at)
    if page is None:
        raise Http404
    if not _may_see(request, sitting, at):
        return redirect("assignments:start", sitting.assignment_id)
    template = "assignments/parts/question.html" if is_part(request) else "assignments/sitting.html"
    response = render(request, template, {"page": page, "client_id": uuid4()})
    patch_vary_headers(response, ["X-Part"])
    return response


@answered_at_once(keep_at_once)
@require_POST
@pupils_only
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep what was done, and say so only then: to the script as JSON, to a plain form by the next page."""
    at = database_now()
    sitting = _own(request, pk)
    form = AnswerForm(request.POST, sitting=sitting)
    if form.is_from_plain_form:
        return answer_plain_form(request, sitting, form, at)
    if not form.is_valid():
        return JsonResponse({"saved": False, "error": "unreadable", "says": form.says}, status=400)
    try:
        event = record_event(sitting=sitting, at=at, **form.event)
    except Refused as refusal:
        return JsonResponse(_refusal(refusal), status=refusal.status)
    return JsonResponse(receipt(event.client_id, event.is_late, sitting.seconds_left(event.received_at)))


@require_http_methods(["GET", "HEAD", "POST"])
@pupils_only
def finish(request: HttpRequest, pk: int) -> HttpResponse:
    """Show all questions at a glance; posting hands the sitting in."""
    at = database_now()
    sitting = _own(request, pk)
    if not _may_see(request, sitting, at):
        return redirect("assignments:start", sitting.assignment_id)
    if request.method == "POST":
        finish_sitting(sitting=sitting, at=at)
        return redirect("assignments:start", sitting.assignment_id)
    standing = standings(acts_of([sitting])[sitting.pk], sitting.started_at)
    tape = tape_of(places(sitting.paper), standing)
    context = {
        "sitting": sitting,
        "tape": tape,
        "left_out": [spot for spot in tape if not spot.standing.choice],
        "flagged": [spot for spot in tape if spot.standing.is_flagged],
        "seconds_left": sitting.seconds_left(at),
        "time_words": say_left(sitting.seconds_left(at), sitting.assignment.is_untimed),
        "last_seq": last_seq(sitting),
    }
    return render(request, "assignments/finish.html", context)


@require_safe
@pupils_only
def time_left(request: HttpRequest, pk: int) -> JsonResponse:
    """Tell the page's clock how long the server's still runs, and whether it stands; note that the page is there."""
    at = database_now()
    sitting = _own(request, pk)
    note_contact(sitting.pk, at)
    return JsonResponse({"seconds_left": sitting.seconds_left(at), "stopped": sitting.is_stopped(at)})


def _may_see(request: HttpRequest, sitting: Sitting, at: datetime) -> bool:
    """Whether the questions may be seen: while the clock runs, and on the device that may write."""
    is_going = sitting.is_running(at) and not sitting.is_stopped(at)
    return is_going and sitting.device == device_of(request)


def _own(request: HttpRequest, pk: int) -> Sitting:
    return get_object_or_404(Sitting.objects.visible_to(person(request)).select_related("assignment"), pk=pk)


def _refusal(refusal: Refused) -> dict:
    said = {"saved": False, "error": refusal.code, "says": str(refusal)}
    return said | ({"next_seq": refusal.next_seq} if isinstance(refusal, OrderTaken) else {})
