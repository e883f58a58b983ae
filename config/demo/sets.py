"""Three sets: one that three classes may sit now, one that two have sat, and one that the third sat as two papers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from math import inf
from random import Random
from uuid import UUID

from django.utils.timezone import localtime

from accounts.models import School, SchoolClass, User
from assignments.models import AssignedQuestion, Assignment, Event, Feedback, QuestionSet, Sitting
from assignments.services.assigning import Terms, assign_set
from assignments.services.parallel import make_missing, make_parallel_set, pairs_of
from assignments.services.sets import add_questions, make_set
from assignments.services.sittings import finish_sitting, record_event, start_sitting
from bank.models import Question
from config.demo.minds import Mind, choose, draw_mind, habits_offered, seconds_for
from config.demo.people import People

SEED = 20
SECONDS = 30  # a question; common practice, no published source
OPEN = "Folding practice"
CLOSED = "Half-term check"
IN_TURN = "Two-paper check"
OPEN_FOR = timedelta(days=28)


def make_sets(*, people: People, questions: Sequence[Question], at: datetime) -> None:
    """Make the sets, those that are closed with their answers. Questions come in order of difficulty."""
    teacher = people.teachers[0]
    practice = make_set(title=OPEN, by=teacher)
    add_questions(question_set=practice, questions=questions[1:32:3])
    check = make_set(title=CLOSED, by=teacher)
    add_questions(question_set=check, questions=questions[2::3][:12])
    for days, school_class in zip((16, 14), people.classes[1:], strict=True):
        _sit(check, school_class, people.pupils[school_class], lesson(at, days))
    first = people.classes[0]
    in_turn = make_set(title=IN_TURN, by=teacher)
    add_questions(question_set=in_turn, questions=questions[3:34:4])
    _sit(in_turn, first, people.pupils[first], lesson(at, 9), second=_beside(in_turn))
    keep_open(school=people.school, at=at)


def keep_open(*, school: School, at: datetime) -> None:
    """Send the practice set to every class once more where nothing is open now, as weeks after the first run."""
    practice = QuestionSet.objects.filter(school=school, title=OPEN, retired_at=None).first()
    running = Assignment.objects.filter(school_class__school=school, opens_at__lte=at, closes_at__gt=at).exists()
    if practice is None or running:
        return
    terms = Terms(
        opens_at=lesson(at, 1),
        closes_at=lesson(at, 0) + OPEN_FOR,
        allowance=SECONDS * practice.entries.count(),
        feedback=Feedback.NOW,
        shuffle_options=True,
    )
    for school_class in SchoolClass.objects.filter(school=school, archived_at=None):
        assign_set(question_set=practice, school_class=school_class, terms=terms, by=_author(practice))


def _beside(question_set: QuestionSet) -> QuestionSet:
    """Make a parallel set of variants, to be Paper 2."""
    make_missing(question_set=question_set, by=_author(question_set), seconds=inf)  # the same school on any machine
    title = f"{question_set.title}, Paper 2"
    return make_parallel_set(pairs=pairs_of(question_set), title=title, by=_author(question_set))


def _author(question_set: QuestionSet) -> User:
    """Who made a set of the demonstration: somebody did."""
    assert question_set.author is not None
    return question_set.author


def lesson(at: datetime, days: int) -> datetime:
    """Nine in the morning, by the school's clock, so many days before ``at``."""
    return (localtime(at) - timedelta(days=days)).replace(hour=9, minute=0, second=0, microsecond=0)


def _sit(
    check: QuestionSet,
    school_class: SchoolClass,
    pupils: list[User],
    opens_at: datetime,
    second: QuestionSet | None = None,
) -> None:
    """Assign the set to a class in the past, and let all but one of its pupils sit it, or their half of the papers."""
    terms = Terms(
        opens_at=opens_at,
        closes_at=opens_at + timedelta(days=2),
        allowance=SECONDS * check.entries.count(),
        shuffle_options=True,
        second_set=second,
    )
    assignment = assign_set(question_set=check, school_class=school_class, terms=terms, by=_author(check))
    asked = {entry.pk: entry for entry in assignment.questions.select_related("version")}
    habits = habits_offered(entry.version for entry in asked.values())
    lot = Random(f"{SEED} {school_class.name}")  # noqa: S311  (the same answers every time)
    for pupil in pupils[:-1]:  # the last was away
        begun = opens_at + timedelta(minutes=lot.uniform(2, 9))
        sitting = start_sitting(assignment=assignment, pupil=pupil, device="demonstration", at=begun)
        _answer(sitting, asked, draw_mind(lot, habits), lot)


def _answer(sitting: Sitting, asked: dict[int, AssignedQuestion], mind: Mind, lot: Random) -> None:
    """Answer question after question until all are done or time is up."""
    now = sitting.started_at
    for entry in sitting.paper:
        version = asked[entry["question"]].version
        now += timedelta(seconds=seconds_for(mind, version, lot))
        if now > sitting.deadline:
            return
        letter = choose(mind, version, lot)
        if lot.random() < 0.12:
            _keep(sitting, entry["question"], Event.Kind.CHOOSE, lot.choice("ABCDE"), now, lot)
            now += timedelta(seconds=lot.uniform(2, 6))
        _keep(sitting, entry["question"], Event.Kind.CHOOSE, letter, now, lot)
        if lot.random() < 0.08:
            _keep(sitting, entry["question"], Event.Kind.FLAG, "", now, lot)
    finish_sitting(sitting=sitting, at=now + timedelta(seconds=lot.uniform(4, 30)))


def _keep(sitting: Sitting, question: int, kind: str, option: str, at: datetime, lot: Random) -> None:
    record_event(
        sitting=sitting,
        question_id=question,
        kind=kind,
        option=option,
        client_id=UUID(int=lot.getrandbits(128), version=4),
        epoch=sitting.epoch,
        seq=None,
        at=at,
    )
