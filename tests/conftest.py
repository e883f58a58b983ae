"""The cast: two schools, the adults of one, a stranger from the other, and two classes with a pupil each.

school        school_class  taken by teacher        holds pupil
              other_class   taken by other_teacher  holds other_pupil
              head, administrator
other_school  stranger (a teacher), foreign_class, foreign_pupil
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import transaction
from django.test import Client

from accounts.models import Role, School, SchoolClass, User
from tests.factories import enrol, make_adult, make_class, make_pupil, make_school
from tests.permission_world import make_world
from tests.sites import environment_of, run


@pytest.fixture
def school(db: None) -> School:
    return make_school("Tarnlow School")


@pytest.fixture
def other_school(db: None) -> School:
    return make_school("Millbeck School")


@pytest.fixture
def teacher(school: School) -> User:
    return make_adult(school, name="Edda Marlin", email="edda@tarnlow.example")


@pytest.fixture
def other_teacher(school: School) -> User:
    return make_adult(school, name="Joss Arkle", email="joss@tarnlow.example")


@pytest.fixture
def head(school: School) -> User:
    return make_adult(school, Role.HEAD, name="Ines Holt", email="ines@tarnlow.example")


@pytest.fixture
def administrator(school: School) -> User:
    return make_adult(school, Role.ADMINISTRATOR, name="Rafe Quill", email="rafe@tarnlow.example")


@pytest.fixture
def stranger(other_school: School) -> User:
    return make_adult(other_school, name="Odo Finch", email="odo@millbeck.example")


@pytest.fixture
def school_class(school: School, teacher: User) -> SchoolClass:
    return make_class(school, "6 Larch", teachers=(teacher,))


@pytest.fixture
def other_class(school: School, other_teacher: User) -> SchoolClass:
    return make_class(school, "6 Rowan", teachers=(other_teacher,))


@pytest.fixture
def foreign_class(other_school: School, stranger: User) -> SchoolClass:
    return make_class(other_school, "5 Alder", teachers=(stranger,))


@pytest.fixture
def pupil(school: School, school_class: SchoolClass) -> User:
    return _enrolled("Fenna", school_class)


@pytest.fixture
def other_pupil(school: School, other_class: SchoolClass) -> User:
    return _enrolled("Galen", other_class)


@pytest.fixture
def foreign_pupil(foreign_class: SchoolClass) -> User:
    return _enrolled("Wim", foreign_class)


@pytest.fixture
def client_of() -> Callable[[User | None], Client]:
    """``client_of(user)``: a browser in which this person is signed in (nobody, for None)."""

    def make(user: User | None) -> Client:
        client = Client()
        if user is not None:
            client.force_login(user)
        return client

    return make


def _enrolled(name: str, school_class: SchoolClass) -> User:
    pupil = make_pupil(school_class.school, name)
    enrol(pupil, school_class)
    return pupil


@pytest.fixture(scope="session")
def once(tmp_path_factory) -> Callable[[str, Callable[[Path], object]], Path]:
    """``once(name, make)``: the folder of this name as ``make`` fills it, once for all processes of the run."""
    shared: Path = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent

    def made(name: str, make: Callable[[Path], object]) -> Path:
        with (shared / f"{name}.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not (shared / name).exists():
                making = tmp_path_factory.mktemp(name)
                make(making)
                making.rename(shared / name)
        return shared / name

    return made


@pytest.fixture(scope="session")
def static_files(once) -> Path:
    """The static files as a production site serves them: compressed, under names that change with them."""

    def make(folder: Path) -> None:
        environment = environment_of("sqlite:////nowhere", folder, STATIC_ROOT=str(folder))
        run(environment, "manage.py", "collectstatic", "--noinput", "--verbosity", "0")

    return once("static", make)


@pytest.fixture(scope="session")
def migrated(once) -> Path:
    """The SQLite file of a site as ``migrate`` makes it, to be copied: migrating takes longer than most tests."""

    def make(folder: Path) -> None:
        run(environment_of(f"sqlite:///{folder}/site.sqlite3", folder), "manage.py", "migrate", "--verbosity", "0")

    return once("migrated", make) / "site.sqlite3"


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker):
    """One of everything, made once for a module: each test is undone to where this stands."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_world()
        transaction.set_rollback(True)
