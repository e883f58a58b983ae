"""Every address x every role, by both methods: who gets a page, who is sent to sign in, for whom it does not exist.

The addresses come from the resolver and the expectations from ``permission_table``: an address without a line
there fails, and so does a line without an address.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.permission_table import ROLES, lines
from tests.permission_world import address, all_rows, signed_in

pytestmark = pytest.mark.django_db
LINES = lines()
REFUSED = {"in", "401", "403", "404", "405"}


def routes(resolver: URLResolver | None = None, before: str = "") -> Iterator[str]:
    """Every route that the site answers, as written in ``urlpatterns``."""
    for entry in (resolver or get_resolver()).url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield "/" + route
        else:
            yield from routes(entry, route)


def outcome(response: HttpResponse) -> str:
    """The answer in a word of the table: ``in`` is sent to sign in, ``go`` to another page."""
    if response.status_code != 302:
        return "ok" if response.status_code == 200 else str(response.status_code)
    doors = (reverse("accounts:sign_in"), reverse("accounts:pupil_sign_in"))
    return "in" if response["Location"].split("?")[0] in doors else "go"


def test_every_address_has_a_line_and_every_line_an_address():
    assert sorted({line.route for line in LINES}) == sorted(set(routes()))


each_line = pytest.mark.parametrize("line", LINES, ids=lambda line: " ".join((line.route, *line.objects)))


@pytest.mark.each_database
@each_line
def test_get_is_answered_as_the_role_deserves_and_changes_no_row(line, world):
    before = all_rows()
    found = {role: outcome(signed_in(role, world).get(address(line, world))) for role in ROLES}
    assert found == dict(zip(ROLES, line.get, strict=True))
    assert all_rows() == before


@pytest.mark.each_database
@each_line
def test_post_is_answered_as_the_role_deserves_and_changes_no_row_for_others(line, world):
    """An empty form: a deed or what is missing for who may; for who may not, nothing."""
    due = dict(zip(ROLES, line.post, strict=True))
    before = all_rows()
    found = {}
    for role in ROLES:
        with transaction.atomic():
            found[role] = outcome(signed_in(role, world).post(address(line, world)))
            transaction.set_rollback(due[role] not in REFUSED)  # a deed is undone; a refusal has left nothing to undo
    assert found == due
    assert all_rows() == before


@each_line
def test_a_form_without_its_token_is_refused(line, world):
    """By the guard against forged requests, before the page is asked; what watches the server is answered before it."""
    roles = ("pupil", "teacher", "administrator")
    before = all_rows()
    clients = (signed_in(role, world, enforce_csrf_checks=True) for role in roles)
    found = {client.post(address(line, world)).status_code for client in clients}
    assert found == {{"/health/": 405, "/health/live/": 405, "/metrics/": 404}.get(line.route, 403)}
    assert all_rows() == before
