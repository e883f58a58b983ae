"""The front door, a page for whoever watches the server, and the page shown when something broke."""

from __future__ import annotations

import sys

import redis
from django.conf import settings
from django.db import DatabaseError, InterfaceError, OperationalError, connection
from django.http import HttpRequest, HttpResponse, HttpResponseServerError, JsonResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from config.metrics import count_lost_database


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Send each person to the page they came for."""
    if not request.user.is_authenticated:
        return redirect("accounts:pupil_sign_in")
    return redirect("assignments:my_sets" if request.user.is_pupil else "bank:list")


@never_cache
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """Say 200 while answers can be kept, that is while the database answers; 503 otherwise.

    Redis is reported and no more: without it pictures wait, and nothing is lost.
    """
    database = database_answers()
    answer = {"ok": database, "database": database, "queue": queue_answers()}
    return JsonResponse(answer, status=200 if database else 503)


@never_cache
@require_safe
def alive(request: HttpRequest) -> JsonResponse:
    """Say 200 while this process answers at all, whatever became of the database: one that does not is restarted."""
    return JsonResponse({"ok": True})


def database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return False
    return True


def queue_answers() -> bool | None:
    """Whether Redis answers; ``None`` where tasks run in process and there is no queue."""
    if not settings.REDIS_URL:
        return None
    try:
        with redis.Redis.from_url(settings.REDIS_URL, socket_timeout=1, socket_connect_timeout=1) as line:
            return bool(line.ping())
    except redis.RedisError:
        return False


def server_error(request: HttpRequest) -> HttpResponse:
    """A plain page with the reference that finds the fault in the log, and nothing else of it."""
    # Rendered without the request, whose user would be asked of a database that may be what broke.
    if isinstance(sys.exc_info()[1], (OperationalError, InterfaceError)):
        count_lost_database()
    page = render_to_string("500.html", {"reference": getattr(request, "reference", "")})
    return HttpResponseServerError(page)
