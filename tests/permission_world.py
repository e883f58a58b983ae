"""One thing of each kind that an address can name, all in the class of ``teacher`` and ``pupil``, and who asks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import timedelta
from functools import cache

from django.apps import apps
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.client import ClientHandler
from django.utils import timezone

from accounts.models import Role, User
from accounts.services.people import invite
from bank.models import Import, SavedSearch
from bank.services.pictures import render_pictures
from bank.services.questions import save_question
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.assignments.factories import make_assignment, make_print, make_sitting
from tests.bank.factories import make_batch
from tests.factories import enrol, make_adult, make_class, make_passkey, make_pupil, make_school
from tests.permission_table import Line
from tests.small_school import SPECS, spec_of

FOUND = [{"place": 1, "number": None, "outcome": "refused", "says": "The question lacks the field “spec”."}]
# What asking for a page may write: the session itself, in which messages and the place of a list are kept, and the
# audit trail.
NOT_ROWS = {"sessions.Session", "accounts.Entry"}


@dataclass
class World:
    """The session of each role, and what stands in an address for each thing."""

    sessions: dict[str, str]
    values: dict[str, object]


def make_people() -> dict[str, User]:
    """Two schools: the people of a class of the first, those of its other class, and those of the other school."""
    school, other_school = make_school("Tarnlow School"), make_school("Millbeck School")
    people = {
        "teacher": make_adult(school),
        "other_teacher": make_adult(school),
        "head": make_adult(school, Role.HEAD),
        "administrator": make_adult(school, Role.ADMINISTRATOR),
        "stranger": make_adult(other_school),
        "foreign_head": make_adult(other_school, Role.HEAD),
        "foreign_administrator": make_adult(other_school, Role.ADMINISTRATOR),
    }
    for taught_by, sat_by in (("teacher", "pupil"), ("other_teacher", "other_pupil"), ("stranger", "foreign_pupil")):
        teacher = people[taught_by]
        people[sat_by] = make_pupil(teacher.school)
        enrol(people[sat_by], make_class(teacher.school, teachers=(teacher,)))
    return people


def session_of(person: User) -> str:
    client = Client()
    client.force_login(person)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def make_world() -> World:
    now = timezone.now()
    people = make_people()
    teacher, pupil = people["teacher"], people["pupil"]
    school, school_class = teacher.school, teacher.classes_taught.get()
    running = make_assignment(school_class, opens_at=now - timedelta(hours=1), allowance=3600)
    over = make_assignment(school_class, opens_at=now - timedelta(days=3))
    sitting = make_sitting(running, pupil, started_at=now - timedelta(minutes=1), choices="C")
    ended = now - timedelta(days=3) + timedelta(minutes=1)
    reviewed = make_sitting(over, pupil, started_at=now - timedelta(days=3), choices="CA", finished_at=ended)
    colleague = make_adult(school, name="Colleague", email="colleague@tarnlow.example")
    spec = read_spec(spec_of(*SPECS[0]))
    question = save_question(school=school, author=teacher, spec=spec, option_set=make_options(spec, seed=1))
    render_pictures(version=question.current)
    values = {
        "class": school_class.pk,
        "pupil": pupil.pk,
        "staff": colleague.pk,
        "passkey": make_passkey(colleague).pk,
        "token": invite(user=colleague, by=None, at=now),
        "question": question.pk,
        "version": over.questions.first().version_id,
        "picture": question.current.pictures.first().name,
        "set": running.question_set_id,
        "entry": running.question_set.entries.first().pk,
        "assignment": running.pk,
        "over": over.pk,
        "sitting": sitting.pk,
        "reviewed": reviewed.pk,
        "place": 1,
        "search": SavedSearch.objects.create(by=teacher, name="Mine", query="q=1").pk,
        "import": Import.objects.create(school=school, by=teacher, at=now, found=FOUND, content={}).pk,
        "print": make_print(running.question_set, teacher).pk,
        "batch": make_batch(teacher).pk,
        "png": "png",
    }
    return World({role: session_of(person) for role, person in people.items()}, values)


def address(line: Line, world: World) -> str:
    """The line's route with its placeholders filled by the objects that the line names."""
    values = iter(line.objects)
    return re.sub("<[^>]+>", lambda _: str(world.values[next(values)]), line.route)


@cache
def handler(enforce_csrf_checks: bool) -> ClientHandler:
    """What answers clients: one for all of them, since each of its own would build the middleware anew."""
    return ClientHandler(enforce_csrf_checks)


def signed_in(role: str, world: World, *, enforce_csrf_checks: bool = False, **options) -> Client:
    client = Client(**options)
    client.handler = handler(enforce_csrf_checks)
    if role != "anonymous":
        client.cookies[settings.SESSION_COOKIE_NAME] = world.sessions[role]
    return client


def all_rows() -> dict[str, list[tuple]]:
    found = {}
    with connection.cursor() as cursor:
        for model in apps.get_models(include_auto_created=True):
            if model._meta.label not in NOT_ROWS:
                cursor.execute(f"SELECT * FROM {model._meta.db_table} ORDER BY {model._meta.pk.column}")
                found[model._meta.label] = cursor.fetchall()
    return found
