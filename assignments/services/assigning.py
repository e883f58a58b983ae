"""Send a set to a class, and change what was sent: the closing time, or take it back. (Time: ``services.timing``.)"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.db import IntegrityError, models, transaction

from accounts.models import SchoolClass, User
from accounts.names import in_register_order
from accounts.trail import Deed, record
from assignments.errors import AssignmentError, SetError
from assignments.feedback import is_over
from assignments.models import (
    Addressee,
    AssignedQuestion,
    Assignment,
    ExtraTime,
    Feedback,
    QuestionSet,
    SetEntry,
    Sitting,
)
from assignments.paper.shuffles import in_turn
from assignments.queries import last_running_deadline
from assignments.services.parallel import parallel_sets
from assignments.services.sets import refuse_unready

LONGEST = 4 * 60 * 60  # seconds


@dataclass(frozen=True)
class Terms:
    """The terms on which a set is sent; ``extra_times`` is per cent by the pupil's primary key."""

    opens_at: datetime
    closes_at: datetime
    allowance: int  # seconds
    question_seconds: int | None = None
    feedback: str = Feedback.AFTER_CLOSE
    closing_cuts: bool = False
    shuffle_questions: bool = False
    shuffle_options: bool = False
    extra_times: Mapping[int, int] = field(default_factory=dict)
    only: Collection[int] = ()  # pupils' primary keys; empty for the whole class
    second_set: QuestionSet | None = None  # Paper 2, handed out in turn with the set itself


@transaction.atomic
def assign_set(*, question_set: QuestionSet, school_class: SchoolClass, terms: Terms, by: User) -> Assignment:
    """Send the set to the class, with the version of each question that is current now. All or nothing.

    Raises ``SetError`` for a class that is archived, whatever page still offers it.
    """
    if school_class.archived_at is not None:
        raise SetError(f"{school_class.name} is archived: nothing can be sent to it.")
    papers = _held_sets(question_set, terms.second_set)
    held = papers[0]
    assignment = Assignment.objects.create(
        question_set=held,
        second_set=terms.second_set,
        school_class=school_class,
        title=held.title,
        assigned_by=by,
        opens_at=terms.opens_at,
        closes_at=terms.closes_at,
        allowance=terms.allowance,
        question_seconds=terms.question_seconds,
        closing_cuts=terms.closing_cuts,
        shuffle_questions=terms.shuffle_questions,
        shuffle_options=terms.shuffle_options,
        feedback=terms.feedback,
        for_some=bool(terms.only),
    )
    AssignedQuestion.objects.bulk_create(
        AssignedQuestion(assignment=assignment, version=entry.question.current, paper=paper, position=position)
        for paper, its_set in enumerate(papers, 1)
        for position, entry in enumerate(_fit_entries(its_set), 1)
    )
    _address(assignment, terms.only)
    _keep_extra_times(assignment, terms.extra_times)
    record(Deed.SET_ASSIGNED, by=by, about={"assignment": assignment.pk, "class": school_class.pk})
    return assignment


@transaction.atomic
def change_closing(*, assignment: Assignment, closes_at: datetime, at: datetime) -> None:
    """Move the closing time. Where it cuts sittings short, those it had cut run on to the new one."""
    held = _held(assignment)
    if closes_at <= held.opens_at:
        raise AssignmentError("The set would close before it opens. The closing time stays as it was.")
    refuse_after_answers(held, at)
    cut = [sitting for sitting in _not_handed_in(held) if sitting.finished_at is not None]
    held.closes_at = closes_at
    held.save(update_fields=["closes_at"])
    Sitting.objects.filter(pk__in=[sitting.pk for sitting in cut]).update(finished_at=None)


def take_back(*, assignment: Assignment) -> None:
    """Undo an assignment that nobody started; if a pupil starts meanwhile, the database lets only one happen."""
    says = "A pupil has started this set, so it cannot be taken back. You can close it instead."
    try:
        with transaction.atomic():
            if _held(assignment).sittings.exists():
                raise AssignmentError(says)
            Assignment.objects.get(pk=assignment.pk).delete()
    except (IntegrityError, models.ProtectedError) as started:
        raise AssignmentError(says) from started


def _held_sets(first: QuestionSet, second: QuestionSet | None) -> list[QuestionSet]:
    """Hold the rows of the set, and of Paper 2 if there is one, which must be parallel to it."""
    pks = [one.pk for one in (first, second) if one is not None]
    held = QuestionSet.objects.select_for_update().order_by("pk").in_bulk(pks)  # in one order, lest two senders wait
    papers = [held[pk] for pk in pks]
    if second is not None and second not in parallel_sets(papers[0]):
        raise SetError(f"{second.title} is no longer a parallel set of {first.title}. Choose another, or one paper.")
    return papers


def _fit_entries(question_set: QuestionSet) -> list[SetEntry]:
    entries = list(question_set.entries.select_related("question__current").order_by("position"))
    if question_set.retired_at is not None:
        raise SetError("This set is retired. Restore it before you assign it.")
    if not entries:
        raise SetError("This set has no questions yet. Add some before you assign it.")
    refuse_unready([entry.question for entry in entries])
    return entries


def _address(assignment: Assignment, only: Collection[int]) -> None:
    """Keep to whom it goes where that is not simply the class, and who is to have which paper."""
    if not only and assignment.papers == 1:
        return
    pupils = User.objects.pupils().filter(enrolments__school_class=assignment.school_class)
    chosen = in_register_order(pupils.filter(pk__in=only) if only else pupils)
    Addressee.objects.bulk_create(
        Addressee(assignment=assignment, pupil=pupil, paper=in_turn(place, assignment.papers))
        for place, pupil in enumerate(chosen)
    )


def _keep_extra_times(assignment: Assignment, percents: Mapping[int, int]) -> None:
    """Keep what differs from the pupil's own arrangement, so that a later change of that still takes effect."""
    pupils = User.objects.pupils().filter(enrolments__school_class=assignment.school_class)
    ExtraTime.objects.bulk_create(
        ExtraTime(assignment=assignment, pupil=pupil, percent=percents[pupil.pk])
        for pupil in pupils
        if pupil.pk in percents and percents[pupil.pk] != pupil.extra_time
    )


def _held(assignment: Assignment) -> Assignment:
    return Assignment.objects.select_for_update().get(pk=assignment.pk)


def _not_handed_in(assignment: Assignment) -> list[Sitting]:
    sittings = assignment.sittings.select_for_update(of=("self",))
    return [sitting for sitting in sittings if not sitting.was_handed_in]


def refuse_after_answers(assignment: Assignment, at: datetime) -> None:
    """Raise an ``AssignmentError`` where the class may have seen the answers: nobody may gain by them."""
    if assignment.feedback == Feedback.AFTER_CLOSE and is_over(assignment, last_running_deadline(assignment), at):
        raise AssignmentError(
            "The class can already see the answers, so time cannot be added to this set. Assign it once more instead, "
            "only to those who have still to sit it."
        )
