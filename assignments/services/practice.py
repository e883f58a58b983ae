"""A practice set made from one kind of mistake, sent to the pupils who make it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone

from accounts.models import SchoolClass, User
from assignments.errors import SetError
from assignments.models import Assignment, Feedback, QuestionSet, Sitting
from assignments.services.assigning import Terms, assign_set
from assignments.services.sets import add_questions, make_set
from bank.models import Question, State

QUESTIONS = 8
FEWEST = 3
SECONDS_A_QUESTION = 60  # twice the usual time: this is for learning
OPEN_FOR = timedelta(days=14)


@transaction.atomic
def practice_for(
    *, kind: str, pupils: Collection[User], school_class: SchoolClass, by: User, at: datetime
) -> Assignment:
    """Make a set of ready questions that offer this mistake, and send it to these pupils of the class, open now.

    Questions that these pupils have not sat come first, then the easier ones. The title does not name the mistake,
    since the pupils read it. Raises ``SetError`` where the bank has too few such questions.
    """
    questions = _questions(kind, pupils, by)
    if len(questions) < FEWEST:
        raise SetError(
            f"The bank has {len(questions) or 'no'} ready question{'' if len(questions) == 1 else 's'} that "
            f"offer{'s' if len(questions) == 1 else ''} this mistake alone; a practice set needs {FEWEST}. "
            "Nothing was sent."
        )
    question_set = make_set(title=_title(by, at), by=by)
    add_questions(question_set=question_set, questions=questions)
    terms = Terms(
        opens_at=at,
        closes_at=at + OPEN_FOR,
        allowance=SECONDS_A_QUESTION * len(questions),
        feedback=Feedback.NOW,
        shuffle_options=True,
        only=[pupil.pk for pupil in pupils],
    )
    return assign_set(question_set=question_set, school_class=school_class, terms=terms, by=by)


def _questions(kind: str, pupils: Collection[User], by: User) -> list[Question]:
    seen = Sitting.objects.filter(pupil__in=pupils, assignment__questions__version__question=OuterRef("pk"))
    ready = Question.objects.visible_to(by).filter(state=State.READY, current__isnull=False)
    ordered = ready.annotate(is_seen=Exists(seen)).order_by("is_seen", "level", "number")
    found = ordered.offering(kind, most=3 * QUESTIONS)
    return [question for question in found if not (question.current and question.current.failed_checks)][:QUESTIONS]


def _title(by: User, at: datetime) -> str:
    day = timezone.localtime(at)
    title = f"Practice, {day.day} {day:%B}"
    taken = QuestionSet.objects.filter(school=by.school_id, title__startswith=title).count()
    return f"{title} ({taken + 1})" if taken else title
