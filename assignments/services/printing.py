"""Have a set printed: keep what was asked for, make its files one by one, forget them after a day."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from accounts.models import User
from accounts.names import in_register_order
from assignments.errors import SetError
from assignments.handing_out import papers_given
from assignments.models import Assignment, PrintedFile, PrintOrder, QuestionSet
from assignments.paper.orders import Choices, Material, Planned, plan
from assignments.paper.typesetting import TypesettingError, count_pages
from assignments.papers import LETTERS
from assignments.queries import pupils_of
from bank.models import Version

KEPT = timedelta(days=1)
log = logging.getLogger(__name__)


@transaction.atomic
def order_print(
    *, question_set: QuestionSet, assignment: Assignment | None, choices: Choices, by: User, at: datetime
) -> PrintOrder:
    """Keep the order and have a worker make its files, or make them here where there is no queue."""
    forget_prints(at=at)
    material = material_of(question_set, assignment)
    if not material.versions:
        raise SetError("This set has no questions yet. Add some before you print it.")
    versions = [*material.versions, *material.second]
    if unmade := [version.question.number for version in versions if version.offered < len(LETTERS)]:
        raise SetError(f"Question {unmade[0]} has fewer than five options. Finish it, or take it out of the set.")
    order = PrintOrder.objects.create(
        question_set=question_set,
        assignment=assignment,
        asked_by=by,
        asked_at=at,
        choices=choices.to_json(),
        wanted=len(plan(material, choices)),
    )
    order_id = order.pk
    # A lambda, since Django names a failing hook in its log, and a partial has no name.
    transaction.on_commit(lambda: _ask_for_files(order_id), robust=True)
    return order


def make_files(*, order: PrintOrder) -> int:
    """Make the files of an order that are not there yet; return how many were made.

    Safe to repeat and to run twice at once: a file is kept under its place, once.
    """
    there = set(order.files.values_list("place", flat=True))
    planned = plan(material_of(order.question_set, order.assignment), Choices.from_json(order.choices))
    made = 0
    for place, file in enumerate(planned, 1):
        if place not in there:
            try:
                made += _keep(order, place, file)
            except TypesettingError:
                log.exception("A file could not be set: %s of order %s", file.title, order.pk)
                _end(order, failed=True)
                return made
    _end(order, failed=False)
    return made


def forget_prints(*, at: datetime) -> int:
    """Delete orders older than a day with their files: names of pupils and keys lie about no longer than needed."""
    return PrintOrder.objects.filter(asked_at__lt=at - KEPT).delete()[0]


def material_of(question_set: QuestionSet, assignment: Assignment | None) -> Material:
    """Gather what is printed: the versions that were assigned, or for a set alone the current ones."""
    versions, second = _versions(question_set, assignment)
    questions = [version.question for version in (*versions, *second)]
    school_class = assignment.school_class if assignment else None
    pupils = in_register_order(pupils_of(assignment)) if assignment else []
    return Material(
        set_id=question_set.pk,
        assignment_id=assignment.pk if assignment else 0,
        title=assignment.title if assignment else question_set.title,
        school=question_set.school.name,
        class_name=school_class.name if school_class else "",
        versions=versions,
        tags={question.pk: [tag.name for tag in question.tags.all()] for question in questions},
        pupils=[(pupil.pk, pupil.name) for pupil in pupils],
        second=second,
        given=papers_given(assignment) if assignment else {},
    )


def _versions(question_set: QuestionSet, assignment: Assignment | None) -> tuple[list[Version], list[Version]]:
    """Return the versions to print, and those of Paper 2 if two papers were assigned."""
    if assignment is not None:
        found = assignment.questions.select_related("version__question").prefetch_related("version__question__tags")
        asked = list(found.order_by("position"))
        return [one.version for one in asked if one.paper == 1], [one.version for one in asked if one.paper == 2]
    entries = question_set.entries.select_related("question__current__question").order_by("position")
    entries = entries.prefetch_related("question__current__question__tags")
    return [entry.question.current for entry in entries if entry.question.current is not None], []


def _keep(order: PrintOrder, place: int, file: Planned) -> bool:
    pdf = file.make()
    try:
        with transaction.atomic():
            PrintedFile.objects.create(order=order, place=place, title=file.title, pages=count_pages(pdf), pdf=pdf)
    except IntegrityError:  # another process made it first, or the order is gone
        return False
    return True


def _end(order: PrintOrder, *, failed: bool) -> None:
    PrintOrder.objects.filter(pk=order.pk).update(ended_at=timezone.now(), failed=failed)


def _ask_for_files(order_id: int) -> None:
    """Queue the work; while the queue is away it is done here, in the time of the request."""
    from assignments.tasks import print_order  # tasks call this module

    try:
        print_order.apply_async((order_id,), retry=False)
    except OperationalError:
        make_files(order=PrintOrder.objects.get(pk=order_id))
