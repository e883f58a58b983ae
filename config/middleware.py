"""What every request gets: an answer about health before anything else, a reference, a line in the log."""

from __future__ import annotations

import logging
import secrets
import time
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from config.logs import route_of
from config.metrics import count_request
from config.views import alive, health
from config.work_views import metrics

Answer = Callable[[HttpRequest], HttpResponse]
log = logging.getLogger("creasemark.requests")


WATCHED = {"/health/": health, "/health/live/": alive, "/metrics/": metrics}


def answer_watchers(get_response: Answer) -> Answer:
    """Answer these first: whoever watches the server asks by number and without a certificate."""

    def answer(request: HttpRequest) -> HttpResponse:
        return WATCHED.get(request.path_info, get_response)(request)

    return answer


def keep_log(get_response: Answer) -> Answer:
    """Give each request a reference; log what was asked and answered, never who asked or what they typed."""

    def answer(request: HttpRequest) -> HttpResponse:
        started = time.perf_counter()
        reference = request.reference = secrets.token_hex(6)  # type: ignore[attr-defined]
        response = get_response(request)
        response["X-Request-Id"] = reference
        took = time.perf_counter() - started
        count_request(route_of(request), response.status_code, took)
        what = (request.method, route_of(request), response.status_code, took * 1000, reference)
        log.info("%s %s answered %d in %.0f ms, reference %s", *what)
        return response

    return answer


def keep_from_caches(get_response: Answer) -> Answer:
    """What no page has said may be kept is kept nowhere: an early 404 must not outlast the day it becomes a page."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if "Cache-Control" not in response:
            response["Cache-Control"] = "private, no-store"
        return response

    return answer


def keep_to_own_content(get_response: Answer) -> Answer:
    """Send the Content Security Policy with every page; it is one and the same for all."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", settings.CONTENT_SECURITY_POLICY)
        return response

    return answer
