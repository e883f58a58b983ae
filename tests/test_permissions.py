"""Every address x every role, by both methods: who gets a page, who is sent to sign in, for whom it does not exist.

The addresses come from the resolver and the expectations from ``permission_table``: an address without a line
there fails, and so does a line without an address.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.apps import apps
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from accounts.models import Role, User
from tests.factories import make_adult
from tests.permission_table import ROLES, Line, lines
from tests.permission_world import World, make_world

pytestmark = [pytest.mark.django_db, pytest.mark.each_database]
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


@pytest.fixture
def foreign_head(other_school) -> User:
    return make_adult(other_school, Role.HEAD)


@pytest.fixture
def foreign_administrator(other_school) -> User:
    return make_adult(other_school, Role.ADMINISTRATOR)


@pytest.fixture
def world(request) -> World:
    people = {role: request.getfixturevalue(role) for role in ROLES if role != "anonymous"}
    return make_world(people, request.getfixturevalue("school_class"))


def address(line: Line, world: World) -> str:
    """The line's route with its placeholders filled by the objects that the line names."""
    values = iter(line.objects)
    return re.sub("<[^>]+>", lambda _: str(world.values[next(values)]), line.route)


def signed_in(role: str, world: World, **options) -> Client:
    client = Client(**options)
    if role != "anonymous":
        client.force_login(world.people[role])
    return client


def outcome(response: HttpResponse) -> str:
    """The answer in a word of the table: ``in`` is sent to sign in, ``go`` to another page."""
    if response.status_code != 302:
        return "ok" if response.status_code == 200 else str(response.status_code)
    doors = (reverse("accounts:sign_in"), reverse("accounts:pupil_sign_in"))
    return "in" if response["Location"].split("?")[0] in doors else "go"


def all_rows() -> dict[str, list[dict]]:
    return {
        model._meta.label: list(model._base_manager.order_by("pk").values())
        for model in apps.get_models(include_auto_created=True)
        if model._meta.label not in NOT_ROWS
    }


def test_every_address_has_a_line_and_every_line_an_address():
    assert sorted({line.route for line in LINES}) == sorted(set(routes()))


each_line = pytest.mark.parametrize("line", LINES, ids=lambda line: " ".join((line.route, *line.objects)))


@each_line
def test_get_is_answered_as_the_role_deserves_and_changes_no_row(line, world):
    clients = {role: signed_in(role, world) for role in ROLES}
    before = all_rows()
    found = {}
    for role, client in clients.items():
        found[role] = outcome(client.get(address(line, world)))
        assert all_rows() == before, f"GET by {role} changed something"
    assert found == dict(zip(ROLES, line.get, strict=True))


@each_line
def test_post_is_answered_as_the_role_deserves_and_changes_no_row_for_others(line, world):
    """An empty form: a deed or what is missing for who may; for who may not, nothing."""
    clients = {role: signed_in(role, world) for role in ROLES}
    before = all_rows()
    found = {}
    for role, client in clients.items():
        with transaction.atomic():
            found[role] = outcome(client.post(address(line, world)))
            if found[role] in REFUSED:
                assert all_rows() == before, f"POST by {role} changed something"
            transaction.set_rollback(True)
    assert found == dict(zip(ROLES, line.post, strict=True))


@each_line
def test_a_form_without_its_token_is_refused(line, world):
    """By the guard against forged requests, before the page is asked; what watches the server is answered before it."""
    roles = ("pupil", "teacher", "administrator")
    clients = [signed_in(role, world, enforce_csrf_checks=True) for role in roles]
    before = all_rows()
    found = {client.post(address(line, world)).status_code for client in clients}
    assert found == {{"/health/": 405, "/health/live/": 405, "/metrics/": 404}.get(line.route, 403)}
    assert all_rows() == before
