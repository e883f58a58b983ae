"""One thing of each kind that an address can name, all in the class of ``teacher`` and ``pupil``."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from accounts.models import SchoolClass, User
from accounts.services.people import invite
from tests.assignments.factories import make_assignment, make_question, make_sitting
from tests.factories import make_adult


@dataclass
class World:
    """Who there is, and what stands in an address for each thing."""

    people: dict[str, User]
    values: dict[str, object]


def make_world(people: dict[str, User], school_class: SchoolClass) -> World:
    now = timezone.now()
    teacher, pupil = people["teacher"], people["pupil"]
    school = teacher.school
    question = make_question(school)
    running = make_assignment(school_class, opens_at=now - timedelta(hours=1), allowance=3600)
    over = make_assignment(school_class, opens_at=now - timedelta(days=3))
    sitting = make_sitting(running, pupil, started_at=now - timedelta(minutes=1), choices="C")
    ended = now - timedelta(days=3) + timedelta(minutes=1)
    reviewed = make_sitting(over, pupil, started_at=now - timedelta(days=3), choices="CA", finished_at=ended)
    colleague = make_adult(school, name="Colleague", email="colleague@tarnlow.example")
    values = {
        "class": school_class.pk,
        "pupil": pupil.pk,
        "staff": colleague.pk,
        "token": invite(user=colleague, by=None, at=now),
        "question": question.pk,
        "picture": question.current.pictures.first().name,
        "set": running.question_set_id,
        "entry": running.question_set.entries.first().pk,
        "assignment": running.pk,
        "over": over.pk,
        "sitting": sitting.pk,
        "reviewed": reviewed.pk,
        "place": 1,
    }
    return World(people, values)
