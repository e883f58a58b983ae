"""The demonstration school: people, questions, sets and answers of our own invention, made from code and seeds.

Nothing here writes past the services of the rooms: what the demonstration shows could all have been done by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.db import transaction
from django.utils import timezone

from accounts.models import School
from config.celery import app
from config.demo.people import NAME, make_people
from config.demo.questions import make_questions
from config.demo.sets import keep_open, make_sets


def load(*, say: Callable[[str], object]) -> School:
    """Make the school, all of it or nothing; if it is there, leave it as its users have left it."""
    at = timezone.now()
    school = School.objects.filter(name=NAME).first()
    if school is not None:
        keep_open(school=school, at=at)
        return school
    with pictures_later(), transaction.atomic():
        say("Making the demonstration school")
        people = make_people()
        questions = make_questions(people=people, say=say)
        make_sets(people=people, questions=questions, at=at)
    return people.school


@contextmanager
def pictures_later() -> Iterator[None]:
    """Send tasks into a queue that nobody reads, so that half a minute of drawing does not hold up the first visit.

    As after a lost worker, the sweep (``manage.py sweep``) finds in the database what is missing.
    """
    eager, broker = app.conf.task_always_eager, app.conf.broker_url
    app.conf.update(task_always_eager=False, broker_url="memory://localhost/")
    try:
        yield
    finally:
        app.conf.update(task_always_eager=eager, broker_url=broker)
