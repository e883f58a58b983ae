"""A pupil's answer and question page when all is as usual: the short way of two views of ``sitting``.

What a process has read of a sitting it remembers, and goes by it as long as the database finds it unchanged
(``services.at_once``): then the whole request asks one thing of the database. Only what was kept or is to be shown is
said here. Whatever else it may be, the views themselves find out.
"""

from __future__ import annotations

from collections.abc import Callable
from secrets import randbits
from typing import TypeVar
from uuid import UUID

from django.contrib.messages.storage.session import SessionStorage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import CSRF_ALLOWED_CHARS

from accounts.access import read_session
from assignments.forms.answering import Usual, read_usual
from assignments.papers import letter_named, place_numbered
from assignments.question_sheet import copy_for
from assignments.services import at_once
from assignments.services.at_once import AtWork
from assignments.views.devices import device_named

T = TypeVar("T")
View = TypeVar("View", bound=Callable)
MOST = 1000  # sittings remembered, of some kB each
_remembered: dict[tuple[str, int], AtWork] = {}


def answered_at_once(short: Callable[..., HttpResponse | None]) -> Callable[[View], View]:
    """Give a view this short way, which ``config.short_way`` takes first."""

    def decorate(view: View) -> View:
        view.at_once = short  # type: ignore[attr-defined]
        return view

    return decorate


def keep_at_once(request: HttpRequest, session_key: str, pk: int) -> HttpResponse | None:
    """Keep what the page's script sent, and say so."""
    sent = read_usual(request.POST) if request.method == "POST" else None
    return _by_what_is_known(session_key, pk, lambda found: _kept(found, sent)) if sent else None


def _kept(found: AtWork, sent: Usual) -> HttpResponse | None:
    place = place_numbered(found.paper, sent.question) if sent.epoch == found.epoch else None
    letter = letter_named(found.sitting, place, sent.option) if place and sent.option else ""
    if place is None or letter is None:
        return None
    received = at_once.keep_at_once(
        found, place=place, kind=sent.kind, option=letter, client_id=sent.client_id, seq=sent.seq
    )
    if received is None:
        return None
    return JsonResponse(receipt(sent.client_id, False, found.seconds_left(received)), headers={"Vary": "Cookie"})


def show_at_once(request: HttpRequest, session_key: str, pk: int, place: int) -> HttpResponse | None:
    """Show a copy of the printed page with the pupil's own doings filled in."""
    if request.method != "GET" or "CSRF_COOKIE" not in request.META:  # who has no such cookie gets it by the whole way
        return None
    return _by_what_is_known(session_key, pk, lambda found: _copy(request, found, place))


def _copy(request: HttpRequest, found: AtWork, number: int) -> HttpResponse | None:
    place = place_numbered(found.paper, number)
    page = place and copy_for(found, place, is_part=is_part(request), token=_masked(request.META["CSRF_COOKIE"]))
    return HttpResponse(page, headers={"Vary": "X-Part, Cookie"}) if page else None


def _masked(secret: str) -> str:
    """A form's token as Django makes and reads it, masked anew for each page, by one draw instead of thirty-two."""
    signs, lot, mask, hidden = CSRF_ALLOWED_CHARS, randbits(256), [], []
    for sign in secret:
        lot, shift = divmod(lot, len(signs))
        mask.append(signs[shift])
        hidden.append(signs[(signs.index(sign) + shift) % len(signs)])
    return "".join(mask + hidden)


def _by_what_is_known(session_key: str, pk: int, deed: Callable[[AtWork], T | None]) -> T | None:
    """Do it by what is remembered of the sitting; if that has changed, or nothing is, by what it is now."""
    known = _remembered.get((session_key, pk))
    done = deed(known) if known else None
    if done is not None:
        return done
    found = _read(session_key, pk)
    return deed(found) if found and (known is None or found.facts != known.facts) else None


def _read(session_key: str, pk: int) -> AtWork | None:
    """Read the sitting and remember it, if it is that of whoever is signed in on this device, and all is as usual."""
    found = at_once.at_work(session_key, pk)
    session = read_session(found.session_data, found.pupil, found.password) if found else None
    if found is None or session is None or found.device != device_named(session_key):
        return None
    if SessionStorage.session_key in session:  # something waits to be said
        return None
    if len(_remembered) >= MOST:
        _remembered.clear()
    _remembered[session_key, pk] = found
    return found


def is_part(request: HttpRequest) -> bool:
    return request.headers.get("X-Part") == "question"


def receipt(client_id: UUID, is_late: bool, seconds_left: int) -> dict:
    """What a kept event is answered with: the same for a repeat, and for every choice alike."""
    return {"saved": True, "client_id": str(client_id), "late": is_late, "seconds_left": seconds_left}
