"""The demonstration school: people, questions, sets and answers of our own invention, made from code and seeds.

Nothing here writes past the services of the rooms: what the demonstration shows could all have been done by hand.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction
from django.utils import timezone

from accounts.models import School
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
    with transaction.atomic():
        say("Making the demonstration school")
        people = make_people()
        questions = make_questions(people=people, say=say)
        make_sets(people=people, questions=questions, at=at)
    return people.school
