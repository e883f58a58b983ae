"""Bring in questions from a file: looked over first, then all the new ones or nothing.

Looking over works every question out anew and keeps the result, so that what is saved afterwards is what was shown.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from time import process_time
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Max

from accounts.models import School, User
from accounts.trail import Deed, record
from bank.errors import BankError
from bank.exchange.reading import Incoming, number_of, read_file, read_question
from bank.models import Import, Question, State, Version
from bank.queries import numbers_by_fingerprint
from bank.services.questions import ask_for_pictures, content_of
from bank.services.tags import read_tags, tag_many
from bank.traits import facts_of
from geometry.errors import GeometryError
from geometry.judging import judge

KEPT = timedelta(days=1)
PATIENCE = 90.0  # seconds of work on one file; honest questions take about a thirtieth of a second each
SAID = ("level", "folds", "punches", "spec", "fingerprint", "folding", "punched_at")  # of a new question
NEW, REPEATED, REFUSED = "new", "repeated", "refused"


def look_over(*, data: bytes, by: User, at: datetime) -> Import:
    """Work out what would happen to each question of a file. Raises ``ExchangeError`` for what is no such file."""
    entries = read_file(data)
    known = {print_: f"Question {number}" for print_, number in numbers_by_fingerprint(by.school_id).items()}
    found, content = [], {}
    start = process_time()
    for place, entry in enumerate(entries, 1):
        row: dict[str, Any] = {"place": place, "number": number_of(entry)}
        if process_time() - start > PATIENCE:
            row |= {"outcome": REFUSED, "says": "Not looked at: the file takes too long. Share it out over more files."}
        else:
            outcome, kept = _look_at(entry, known)
            row |= outcome
            if kept:
                known[kept["content"]["fingerprint"]] = f"Question {place} of this file"
                content[str(place)] = kept
        found.append(row)
    forget_imports(at=at)
    return Import.objects.create(school=by.school, by=by, at=at, found=found, content=content)


@transaction.atomic
def take(*, found: Import, ready: bool, tag: str, by: User, at: datetime) -> list[int]:
    """Save the new questions of a file, all or nothing, and return their numbers; a second time, those of the first.

    ``ready`` makes those ready that were so where they come from and pass every check; the rest are drafts. ``tag`` is
    given to all. Raises ``TagError``. What somebody else brought in meanwhile is not saved twice.
    """
    School.objects.select_for_update().get(pk=found.school_id)
    if not Import.objects.filter(pk=found.pk, taken_at=None).update(taken_at=at):
        return Import.objects.get(pk=found.pk).taken
    known = numbers_by_fingerprint(found.school_id)
    entries = [entry for entry in found.content.values() if entry["content"]["fingerprint"] not in known]
    tags = [read_tags([*entry["tags"], tag]) for entry in entries]
    questions = _save(found.school, entries, ready, by)
    tag_many(school=found.school, names={q.pk: names for q, names in zip(questions, tags, strict=True)})
    taken = [question.number for question in questions]
    Import.objects.filter(pk=found.pk).update(taken=taken, content={})
    record(Deed.QUESTIONS_IMPORTED, by=by, about={"questions": len(taken)}, at=at)
    return taken


def leave(*, found: Import) -> None:
    """Forget what was looked over; nothing is saved."""
    found.delete()


def forget_imports(*, at: datetime) -> int:
    """Forget what was looked over more than a day ago."""
    return Import.objects.filter(at__lt=at - KEPT).delete()[0]


def _look_at(entry: Any, known: dict[str, str]) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """Return what is to be said of a question, and what would be kept of it if it is new."""
    try:
        incoming = read_question(entry)
        option_set = judge(incoming.spec, incoming.options)
    except (BankError, GeometryError) as error:
        return {"outcome": REFUSED, "says": str(error)}, None
    if option_set.fingerprint in known:
        return {"outcome": REPEATED, "says": known[option_set.fingerprint]}, None
    content = content_of(incoming.spec, option_set)
    failed = [check["says"] for check in content["checks"] if not check["ok"]]
    said = {name: content[name] for name in SAID} | {"tags": incoming.tags}
    return {"outcome": NEW, "says": " ".join(failed), **said}, _kept(incoming, content, failed)


def _kept(incoming: Incoming, content: dict[str, Any], failed: list[str]) -> dict[str, Any]:
    return {
        "content": content,
        "tags": incoming.tags,
        "note": incoming.note,
        "may_be_ready": incoming.wants_ready and not failed,
    }


def _save(school: School, entries: list[dict[str, Any]], ready: bool, by: User) -> list[Question]:
    last = Question.objects.filter(school=school).aggregate(last=Max("number"))["last"] or 0
    questions = Question.objects.bulk_create(
        Question(
            school=school,
            number=number,
            author=by,
            note=entry["note"],
            state=State.READY if ready and entry["may_be_ready"] else State.DRAFT,
            **facts_of(entry["content"]),
        )
        for number, entry in enumerate(entries, last + 1)
    )
    for question, version in zip(questions, _save_versions(questions, entries, by), strict=True):
        question.current = version
    Question.objects.bulk_update(questions, ["current"], batch_size=200)
    return questions


def _save_versions(questions: list[Question], entries: list[dict[str, Any]], by: User) -> list[Version]:
    pairs = zip(questions, entries, strict=True)
    made = Version.objects.bulk_create(
        [Version(question=question, number=1, author=by, **entry["content"]) for question, entry in pairs],
        batch_size=100,
    )
    if not settings.CELERY_TASK_ALWAYS_EAGER:  # else hundreds would be drawn in this request; the sweep draws them
        transaction.on_commit(lambda: _ask_for_pictures(made), robust=True)
    return made


def _ask_for_pictures(versions: Iterable[Version]) -> None:
    for version in versions:
        ask_for_pictures(version.pk)
