"""What runs by the clock."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.utils import timezone

from config.celery import app
from config.tasks import forget_ended_sessions


def test_every_scheduled_task_exists():
    app.loader.import_default_modules()
    assert {entry["task"] for entry in app.conf.beat_schedule.values()} <= set(app.tasks)


@pytest.mark.django_db
def test_ended_sessions_are_forgotten_and_running_ones_kept():
    kept, ended = SessionStore(), SessionStore()
    kept.create()
    ended.create()
    Session.objects.filter(pk=ended.session_key).update(expire_date=timezone.now() - timedelta(seconds=1))
    forget_ended_sessions()
    assert list(Session.objects.values_list("pk", flat=True)) == [kept.session_key]
