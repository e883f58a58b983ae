"""Make sets of questions and keep them in order. Whoever changes a set holds its row until it is done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction
from django.db.models import Max

from accounts.models import User
from assignments.errors import QuestionsNotReady, SetError
from assignments.models import QuestionSet, SetEntry
from bank.models import Question, State

MOST_QUESTIONS = 100


def make_set(*, title: str, by: User) -> QuestionSet:
    return QuestionSet.objects.create(school=by.school, title=title, author=by)


def rename_set(*, question_set: QuestionSet, title: str) -> None:
    """Rename the set. Assignments made before keep the title their class has seen."""
    question_set.title = title
    question_set.save(update_fields=["title"])


@transaction.atomic
def add_questions(*, question_set: QuestionSet, questions: Iterable[Question]) -> int:
    """Put ready questions at the end of the set, and return how many were not in it yet. All or nothing."""
    held = _held(question_set)
    questions = list(questions)
    refuse_unready(questions)
    there = set(held.entries.values_list("question", flat=True))
    new = [question for question in questions if question.pk not in there]
    if len(there) + len(new) > MOST_QUESTIONS:
        raise SetError(f"A set holds at most {MOST_QUESTIONS} questions. Nothing was added.")
    last = held.entries.aggregate(last=Max("position"))["last"] or 0
    SetEntry.objects.bulk_create(
        SetEntry(question_set=held, question=question, position=position)
        for position, question in enumerate(new, last + 1)
    )
    return len(new)


@transaction.atomic
def put_questions(
    *, question_set: QuestionSet | None, title: str, questions: Iterable[Question], by: User
) -> tuple[QuestionSet, int]:
    """Put ready questions into a set, or into a new one called ``title``; return it and how many came in."""
    question_set = question_set or make_set(title=title, by=by)
    return question_set, add_questions(question_set=question_set, questions=questions)


@transaction.atomic
def move_entry(*, question_set: QuestionSet, entry_id: int, by_places: int) -> None:
    """Move one question up (negative) or down; at either end of the set it stays."""
    entries = _entries(question_set)
    places = [entry.pk for entry in entries]
    if entry_id not in places:
        return  # somebody took it out meanwhile
    here = places.index(entry_id)
    there = min(max(here + by_places, 0), len(entries) - 1)
    entries.insert(there, entries.pop(here))
    _renumber(entries)


@transaction.atomic
def order_entries(*, question_set: QuestionSet, numbers: Mapping[int, int]) -> None:
    """Put the set in the order of the typed ``numbers`` (by entry id).

    One moved up to a taken number goes before the question that has it, one moved down goes after it.
    """

    def wanted(entry: SetEntry) -> float:
        number = numbers.get(entry.pk, entry.position)
        return number + (0.5 if number > entry.position else -0.5 if number < entry.position else 0)

    _renumber(sorted(_entries(question_set), key=wanted))


@transaction.atomic
def remove_entry(*, question_set: QuestionSet, entry_id: int) -> None:
    """Take a question out of the set. What was assigned before stays as it was assigned."""
    _held(question_set).entries.filter(pk=entry_id).delete()
    _renumber(_entries(question_set))


def retire_set(*, question_set: QuestionSet, at: datetime) -> None:
    QuestionSet.objects.filter(pk=question_set.pk, retired_at__isnull=True).update(retired_at=at)


def restore_set(*, question_set: QuestionSet) -> None:
    QuestionSet.objects.filter(pk=question_set.pk).update(retired_at=None)


def refuse_unready(questions: Iterable[Question]) -> None:
    """Raise ``QuestionsNotReady``, naming each question that cannot be set and why."""
    reasons = [(question, why) for question in questions if (why := why_not_ready(question))]
    if reasons:
        raise QuestionsNotReady(reasons)


def why_not_ready(question: Question) -> str:
    """Say why a question cannot be set; "" if it can."""
    if question.state == State.RETIRED:
        return "it is retired."
    if question.current is None:
        return "it has nothing in it yet."
    if failed := question.current.failed_checks:
        return " ".join(check["says"] for check in failed)
    return "" if question.state == State.READY else "it is still a draft."


def _held(question_set: QuestionSet) -> QuestionSet:
    return QuestionSet.objects.select_for_update().get(pk=question_set.pk)


def _entries(question_set: QuestionSet) -> list[SetEntry]:
    return list(_held(question_set).entries.order_by("position", "pk"))


def _renumber(entries: list[SetEntry]) -> None:
    for position, entry in enumerate(entries, 1):
        entry.position = position
    SetEntry.objects.bulk_update(entries, ["position"])
