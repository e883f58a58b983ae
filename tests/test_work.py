"""The work behind the pages as an administrator sees it, and the figures that a Prometheus server reads."""

from __future__ import annotations

import logging
import shutil
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from assignments.models import PrintOrder
from bank.models import Version
from bank.services import pictures
from bank.tasks import sweep_pictures
from config.logs import SlowOnly
from tests.bank.factories import make_question
from tests.sites import database, environment_of, run

pytestmark = pytest.mark.django_db


@pytest.fixture
def version(school, teacher) -> Version:
    return make_question(school, author=teacher).current


def test_what_waits_is_shown_to_its_own_school_alone(version, administrator, other_school, client_of):
    page = client_of(administrator).get("/tasks/").content.decode()
    assert f"Question {version.question.number}, version 1" in page
    assert "Waits its turn" in page
    version.question.school = other_school
    version.question.save()
    assert "Every picture is there" in client_of(administrator).get("/tasks/").content.decode()


def test_what_waits_too_long_is_called_overdue(version, administrator, client_of):
    Version.objects.update(created_at=timezone.now() - timedelta(minutes=3))
    assert "Overdue" in client_of(administrator).get("/tasks/").content.decode()


def test_asking_again_draws_what_is_missing(version, administrator, client_of):
    answer = client_of(administrator).post("/tasks/again/", follow=True).content.decode()
    assert "Every picture is there" in answer
    assert not Version.objects.lacking_pictures().exists()


def test_asking_again_without_a_queue_says_so_and_loses_nothing(
    version, administrator, client_of, settings, monkeypatch
):
    from kombu.exceptions import OperationalError

    def away(**_):
        raise OperationalError

    monkeypatch.setattr(sweep_pictures, "apply_async", away)
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    answer = client_of(administrator).post("/tasks/again/", follow=True).content.decode()
    assert "The queue does not answer" in answer
    assert "Redis does not answer" in answer


def test_a_version_that_cannot_be_drawn_keeps_no_other_waiting(version, school, teacher, monkeypatch):
    other, draw = make_question(school, author=teacher).current, pictures.render_pictures

    def broken(*, version):
        if version.pk != other.pk:
            raise ValueError
        return draw(version=version)

    monkeypatch.setattr(pictures, "render_pictures", broken)
    assert sweep_pictures() == 1
    assert list(Version.objects.lacking_pictures()) == [version]


def test_a_booklet_that_failed_is_shown(administrator, teacher, school_class, client_of):
    from tests.assignments.factories import make_assignment

    question_set = make_assignment(school_class, opens_at=timezone.now()).question_set
    PrintOrder.objects.create(
        question_set=question_set, asked_by=teacher, asked_at=timezone.now(), choices={}, wanted=1, failed=True
    )
    page = client_of(administrator).get("/tasks/").content.decode()
    assert "Booklets that could not be made" in page
    assert question_set.title in page


def test_figures_are_for_the_bearer_of_the_token(client, settings):
    assert client.get("/metrics/").status_code == 404
    settings.METRICS_TOKEN = "a-token-of-this-test"
    assert client.get("/metrics/").status_code == 404
    assert client.get("/metrics/", headers={"Authorization": "Bearer another"}).status_code == 404


PROGRAM = """
import django; django.setup()
from django.test import Client
Client().get("/pupils/31337/")
print(Client().get("/metrics/", headers={"Authorization": "Bearer t0ken"}).content.decode())
"""


def test_the_figures_can_be_read_and_name_nobody(tmp_path, migrated):
    """In a process of its own: the library looks for its folder once. Read by the library's own parser."""
    shutil.copy(migrated, tmp_path)
    with database("sqlite", tmp_path) as url:
        environment = environment_of(url, tmp_path, METRICS_TOKEN="t0ken", ALLOWED_HOSTS="testserver")
        told = run(environment, "-c", PROGRAM)
    families = {family.name: family for family in text_string_to_metric_families(told)}
    counts = {
        (s.labels["route"], s.labels["status"]): s.value
        for s in families["creasemark_request_seconds"].samples
        if s.name.endswith("_count")
    }
    assert counts == {("/pupils/<int:pk>/", "302"): 1}
    assert families["creasemark_pictures_waiting"].samples[0].value == 0
    assert families["creasemark_queue_up"].samples[0].value == 0
    assert "31337" not in told


def test_only_slow_statements_are_logged():
    slow, quick = (logging.LogRecord("django.db.backends", 10, "", 1, "(%.3f) %s", (d, "SELECT"), None) for d in (1, 0))
    slow.duration, quick.duration = 0.2, 0.05
    assert [SlowOnly(100).filter(record) for record in (slow, quick)] == [True, False]


def test_a_process_that_lost_its_database_is_alive_and_not_ready(monkeypatch):
    monkeypatch.setattr("config.views.database_answers", lambda: False)
    assert Client().get("/health/live/").status_code == 200
    assert Client().get("/health/").status_code == 503
