"""What pupils at work ask for most is answered above the rest of the stack, which takes longer than the answer itself.

A view may have a short way (``view.at_once``), which answers where all is as usual and else returns nothing. It is
asked only after what the stack would look at before any view: the host, HTTPS, and that no other site sent the request.
Its answer bears what the stack puts onto every page. Whatever is in doubt goes the whole way, which decides.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from django.conf import settings
from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import CsrfViewMiddleware
from django.urls import Resolver404, ResolverMatch, resolve
from django.utils.module_loading import import_string

Answer = Callable[[HttpRequest], HttpResponse]
log = logging.getLogger("creasemark.short_way")
BELOW = "/sitting/"  # where views with a short way are: of other addresses nothing is asked here
ON_EVERY_PAGE = (
    "config.middleware.keep_from_caches",
    "django.middleware.security.SecurityMiddleware",
    "config.middleware.keep_to_own_content",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
)


class _Csrf(CsrfViewMiddleware):
    def _reject(self, request: HttpRequest, reason: str) -> HttpResponse:
        return HttpResponse(status=403)  # not sent: the whole way refuses in words, and logs it


def short_way(get_response: Answer) -> Answer:
    csrf = _Csrf(get_response)
    headers: dict[bool, dict[str, str] | None] = {}  # on every page, by HTTPS and without

    def answer(request: HttpRequest) -> HttpResponse:
        return at_once(request) or get_response(request)

    def at_once(request: HttpRequest) -> HttpResponse | None:
        match = _match(request.path_info) if request.path_info.startswith(BELOW) else None
        key = request.COOKIES.get(settings.SESSION_COOKIE_NAME) if match else None
        if match is None or key is None or not is_let_in(request, match):
            return None
        is_secure = request.is_secure()
        if is_secure not in headers:
            headers[is_secure] = _on_every_page(request)
        on_every_page = headers[is_secure]
        if on_every_page is None:
            return None
        try:
            response = match.func.at_once(request, key, **match.kwargs)  # type: ignore[attr-defined]
        except Exception:  # as a lost database, or a fault of ours: the whole way may do, and else says what is wrong
            log.exception("the short way failed")
            return None
        if response is not None:
            request.resolver_match = match
            response.headers["Content-Length"] = str(len(response.content))
            for name, value in on_every_page.items():
                response.headers.setdefault(name, value)
        return response

    def is_let_in(request: HttpRequest, match: ResolverMatch) -> bool:
        """Whether the stack would let the request through to its view, and has no cookie to give the browser."""
        try:
            request.get_host()
        except DisallowedHost:
            return False
        csrf.process_request(request)
        refused = csrf.process_view(request, match.func, match.args, match.kwargs)
        return refused is None and not request.META.get("CSRF_COOKIE_NEEDS_UPDATE")

    return answer


@lru_cache(10_000)
def _match(path: str) -> ResolverMatch | None:
    """Return the view of this address, if it has a short way."""
    try:
        match = resolve(path)
    except Resolver404:
        return None
    return match if hasattr(match.func, "at_once") else None


def _on_every_page(request: HttpRequest) -> dict[str, str] | None:
    """Return the headers that a page gets whatever is on it; ``None`` if there is none by this scheme."""
    stack: Callable[[HttpRequest], Any] = _empty_page
    for name in reversed(ON_EVERY_PAGE):
        stack = import_string(name)(stack)
    response = stack(request)
    return dict(response.headers) if response.status_code == 200 else None


def _empty_page(_: HttpRequest) -> HttpResponse:
    return HttpResponse()
