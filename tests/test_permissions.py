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

from tests.permission_table import ROLES, Line, lines
from tests.permission_world import World, make_world

LINES = lines()
# What reading a page may write: the session itself, in which messages and the place of a list are kept.
NOT_ROWS = {"sessions.Session"}


def routes(resolver: URLResolver | None = None, before: str = "") -> Iterator[str]:
    """Every route that the site answers, as written in ``urlpatterns``."""
    for entry in (resolver or get_resolver()).url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLPattern):
            yield "/" + route
        else:
            yield from routes(entry, route)


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


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"{line.route} {' '.join(line.objects)}".strip())
def test_get_is_answered_as_the_role_deserves_and_changes_no_row(line, world):
    found = {}
    for role in ROLES:
        client = signed_in(role, world)
        before = all_rows()
        found[role] = outcome(client.get(address(line, world)))
        assert all_rows() == before, f"GET by {role} changed something"
    assert found == dict(zip(ROLES, line.get, strict=True))


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"{line.route} {' '.join(line.objects)}".strip())
def test_post_is_answered_as_the_role_deserves(line, world):
    """An empty form: 400 or a deed for who may, and nothing changed by who may not."""
    found = {}
    for role in ROLES:
        client = signed_in(role, world)
        before = all_rows()
        with transaction.atomic():
            found[role] = outcome(client.post(address(line, world)))
            if found[role] in {"in", "401", "403", "404", "405"}:
                assert all_rows() == before, f"POST by {role} changed something"
            transaction.set_rollback(True)
    assert found == dict(zip(ROLES, line.post, strict=True))


@pytest.mark.parametrize("line", LINES, ids=lambda line: line.route)
def test_a_form_without_its_token_is_refused(line, world):
    """403 by the guard against forged requests, for every role whose form would else be looked at."""
    for role, word in zip(ROLES, line.post, strict=True):
        client = signed_in(role, world, enforce_csrf_checks=True)
        before = all_rows()
        status = client.post(address(line, world)).status_code
        assert (status, all_rows()) == (405 if word == "405" else 403, before)
