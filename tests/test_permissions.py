"""Every address x every role, by both methods: who gets a page, who is sent to sign in, for whom it does not exist.

The addresses come from the resolver and the expectations from ``permission_table``: an address without a line
there fails, and so does a line without an address.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.permission_table import ROLES, Line, lines
from tests.permission_world import World, make_world

pytestmark = pytest.mark.django_db
LINES = lines()
# What asking for a page may write: the session itself, in which messages and the place of a list are kept, and the
# audit trail.
NOT_ROWS = {"sessions.Session", "accounts.Entry"}
REFUSED = {"in", "401", "403", "404", "405"}


def routes(resolver: URLResolver | None = None, before: str = "") -> Iterator[str]:
    """Every route that the site answers, as written in ``urlpatterns``."""
    for entry in (resolver or get_resolver()).url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield "/" + route
        else:
            yield from routes(entry, route)


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker) -> Iterator[World]:
    """Made once, since no test here leaves anything behind: each is undone to where this stands."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_world()
        transaction.set_rollback(True)


def address(line: Line, world: World) -> str:
    """The line's route with its placeholders filled by the objects that the line names."""
    values = iter(line.objects)
    return re.sub("<[^>]+>", lambda _: str(world.values[next(values)]), line.route)


def signed_in(role: str, world: World, **options) -> Client:
    client = Client(**options)
    if role != "anonymous":
        client.cookies[settings.SESSION_COOKIE_NAME] = world.sessions[role]
    return client


def outcome(response: HttpResponse) -> str:
    """The answer in a word of the table: ``in`` is sent to sign in, ``go`` to another page."""
    if response.status_code != 302:
        return "ok" if response.status_code == 200 else str(response.status_code)
    doors = (reverse("accounts:sign_in"), reverse("accounts:pupil_sign_in"))
    return "in" if response["Location"].split("?")[0] in doors else "go"


def all_rows() -> dict[str, list[tuple]]:
    found = {}
    with connection.cursor() as cursor:
        for model in apps.get_models(include_auto_created=True):
            if model._meta.label not in NOT_ROWS:
                cursor.execute(f"SELECT * FROM {model._meta.db_table} ORDER BY {model._meta.pk.column}")
                found[model._meta.label] = cursor.fetchall()
    return found


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
