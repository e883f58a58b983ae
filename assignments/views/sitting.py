"""The sitting itself: a question, what is sent from it, the look over all of them, and handing in."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID, uuid4

from django.contrib.messages.storage.session import SessionStorage
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.access import is_signed_in, pupils_only, session_key
from assignments.contact import note_contact
from assignments.errors import OrderTaken, Refused
from assignments.forms.answering import AnswerForm, read_usual
from assignments.marking import standings
from assignments.models import Sitting
from assignments.papers import letter_named, place_numbered, places
from assignments.pupil_pages import question_page, tape_of
from assignments.queries import acts_of, last_seq
from assignments.question_sheet import copy_for
from assignments.school_time import say_left
from assignments.services.at_once import AtWork, at_work, keep_at_once
from assignments.services.clock import database_now
from assignments.services.sittings import finish_sitting, record_event
from assignments.views import person
from assignments.views.devices import device_of
from assignments.views.plain_form import answer_plain_form


@require_safe
def question(request: HttpRequest, pk: int, place: int) -> HttpResponseBase:
    """Show one question; to the page's script, which keeps the next ones ready, the part that changes."""
    response = _show_at_once(request, pk, place) or _show_with_care(request, pk, place)
    patch_vary_headers(response, ["X-Part"])
    return response


def _show_at_once(request: HttpRequest, pk: int, number: int) -> HttpResponse | None:
    """Where all is as usual, a copy of the printed page with the pupil's own doings filled in; else nothing."""
    found = _own_at_work(request, pk)
    place = place_numbered(found.paper, number) if found else None
    if found is None or place is None or found.device != device_of(request):
        return None
    if SessionStorage.session_key in request.session.decode(found.session_data):  # something waits to be said
        return None
    return HttpResponse(copy_for(found, place, is_part=_is_part(request), token=get_token(request)))


@pupils_only
def _show_with_care(request: HttpRequest, pk: int, place: int) -> HttpResponse:
    at = database_now()
    sitting = _own(request, pk)
    page = question_page(sitting, place, at)
    if page is None:
        raise Http404
    if not _may_see(request, sitting, at):
        return redirect("assignments:start", sitting.assignment_id)
    template = "assignments/parts/question.html" if _is_part(request) else "assignments/sitting.html"
    return render(request, template, {"page": page, "client_id": uuid4()})


def _is_part(request: HttpRequest) -> bool:
    return request.headers.get("X-Part") == "question"


@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Keep what was done, and say so only then: to the script as JSON, to a plain form by the next page."""
    found = _own_at_work(request, pk)
    kept = _keep_at_once(request, found) if found else None
    return kept or _keep_with_care(request, pk, found.at if found else None)


def _keep_at_once(request: HttpRequest, found: AtWork) -> HttpResponse | None:
    """What is sent and found as usual is kept in one more statement; of all else nothing is kept or said here."""
    sent = read_usual(request.POST)
    place = place_numbered(found.paper, sent.question) if sent and sent.epoch == found.epoch else None
    if sent is None or place is None:
        return None
    letter = letter_named(found.sitting, place, sent.option) if sent.option else ""
    if letter is None:
        return None
    received = keep_at_once(found, place=place, kind=sent.kind, option=letter, client_id=sent.client_id, seq=sent.seq)
    return JsonResponse(_receipt(sent.client_id, False, found.seconds_left(received))) if received else None


@pupils_only
def _keep_with_care(request: HttpRequest, pk: int, at: datetime | None) -> HttpResponse:
    """``at``: the database's time, if it was asked already."""
    at = at or database_now()
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
    return JsonResponse(_receipt(event.client_id, event.is_late, sitting.seconds_left(event.received_at)))


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


def _own_at_work(request: HttpRequest, pk: int) -> AtWork | None:
    """The sitting, if it is of whoever is signed in, and all about it is as usual; else others find out what it is."""
    key = session_key(request)
    found = at_work(key, pk) if key else None
    if found is None or not is_signed_in(request, found.session_data, found.pupil, found.password):
        return None
    return found


def _own(request: HttpRequest, pk: int) -> Sitting:
    return get_object_or_404(Sitting.objects.visible_to(person(request)).select_related("assignment"), pk=pk)


def _receipt(client_id: UUID, is_late: bool, seconds_left: int) -> dict:
    """What a kept event is answered with: the same for a repeat, and for every choice alike."""
    return {"saved": True, "client_id": str(client_id), "late": is_late, "seconds_left": seconds_left}


def _refusal(refusal: Refused) -> dict:
    said = {"saved": False, "error": refusal.code, "says": str(refusal)}
    return said | ({"next_seq": refusal.next_seq} if isinstance(refusal, OrderTaken) else {})
