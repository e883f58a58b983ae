"""Make a class that exists only to be tried out, with a set that is open now, and print how to sit it."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from django.urls import reverse

from accounts.models import Role, School, User
from accounts.services.cards import Card, NewPupil
from accounts.services.classes import add_pupils, create_class
from accounts.services.people import create_adult, create_school
from assignments.models import Assignment, QuestionSet
from assignments.services.assigning import Terms, assign_set
from assignments.services.clock import database_now
from assignments.services.sets import MOST_QUESTIONS, add_questions, make_set
from bank.models import Question, State
from bank.services.questions import save_question
from geometry.generation import generate

SEED = 20_260_514
MOST_PUPILS = 1000


class Command(BaseCommand):
    help = (
        "Make a school, a class and an open set for a trial or a load test, and print as JSON the class code, the "
        "pupils' names and PINs, and the paths of a sitting. Not for a school's own database."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--pupils", type=int, default=30)
        parser.add_argument("--questions", type=int, default=12)
        parser.add_argument("--seconds", type=int, default=360, help="time allowed for the whole set")

    def handle(self, *args: Any, **options: Any) -> None:
        pupils, questions, seconds = options["pupils"], options["questions"], options["seconds"]
        if not (1 <= pupils <= MOST_PUPILS and 1 <= questions <= MOST_QUESTIONS and seconds >= 1):
            raise CommandError(f"From 1 to {MOST_PUPILS} pupils, 1 to {MOST_QUESTIONS} questions, 1 second or more.")
        with transaction.atomic():
            school = create_school(name=f"Practice school {uuid4().hex[:8]}")
            teacher = make_teacher(school)
            cards = make_class(school, teacher, pupils)
            assignment = make_assignment(teacher, cards[0], questions, seconds)
        self.stdout.write(json.dumps(how_to_sit(assignment, cards)))


def make_teacher(school: School) -> User:
    email = f"practice-{school.pk}@practice.example"
    return create_adult(school=school, role=Role.TEACHER, name="Practice teacher", email=email, password=None, by=None)


def make_class(school: School, teacher: User, pupils: int) -> list[Card]:
    school_class = create_class(school=school, name="Practice class", teachers=[teacher], by=None)
    new = [NewPupil(f"Pupil {number}") for number in range(1, pupils + 1)]
    return add_pupils(school_class=school_class, pupils=new, by=None)


def make_assignment(teacher: User, card: Card, questions: int, seconds: int) -> Assignment:
    now = database_now()
    question_set = make_practice_set(teacher, questions)
    terms = Terms(
        opens_at=now - timedelta(minutes=1), closes_at=now + timedelta(days=1), allowance=seconds, shuffle_options=True
    )
    return assign_set(question_set=question_set, school_class=card.school_class, terms=terms, by=teacher)


def make_practice_set(teacher: User, questions: int) -> QuestionSet:
    question_set = make_set(title="Practice set", by=teacher)
    made: list[Question] = [
        save_question(school=teacher.school, author=teacher, spec=spec, option_set=options, state=State.READY)
        for spec, options in generate(count=questions, seed=SEED)
    ]
    add_questions(question_set=question_set, questions=made)
    return question_set


def how_to_sit(assignment: Assignment, cards: list[Card]) -> dict[str, Any]:
    """Return what a program needs to sign in and sit the set; a sitting's number stands in its first address."""
    return {
        "class_code": assignment.school_class.code,
        "pupils": [{"name": card.pupil.name, "pin": card.pin} for card in cards],
        "assignment": assignment.pk,
        "questions": assignment.questions.count(),
        "seconds": assignment.allowance,
        "paths": {
            "sign_in": reverse("accounts:pupil_sign_in"),
            "start": reverse("assignments:start", args=[assignment.pk]),
            "question": "/sitting/<sitting>/<place>/",
            "answer": "/sitting/<sitting>/answer/",
            "finish": "/sitting/<sitting>/finish/",
        },
        "answer_fields": ["question", "kind", "option", "client_id", "epoch", "seq"],
    }
