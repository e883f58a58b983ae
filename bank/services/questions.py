"""Save, copy and change the state of questions.

Whoever writes to a question holds its row's lock until the transaction ends, and new numbers are given under
the school's lock: so two savers queue, and the second learns what the first did.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from random import Random
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Max

from accounts.models import School, User
from bank.errors import NotReady, StaleEdit, WrongState
from bank.models import Question, State, Version
from bank.services.tags import set_tags
from bank.tasks import render_pictures
from bank.traits import facts_of
from geometry.fingerprints import kin_of
from geometry.folding import fold_sheet
from geometry.option_sets import OptionSet, relabelled
from geometry.spec import Spec

CONTENT = (
    *("spec", "options", "checks", "difficulty", "level", "folds", "punches", "offered"),
    *("fingerprint", "folding", "punched_at"),
)


@transaction.atomic
def save_question(
    *,
    school: School,
    author: User | None,
    spec: Spec,
    option_set: OptionSet,
    tags: Iterable[str] = (),
    note: str = "",
    state: str = State.DRAFT,
    question: Question | None = None,
    based_on: int | None = None,
) -> Question:
    """Save a new question, or the next version of ``question`` if the paper or the options changed.

    ``based_on`` is the number of the version the author started from; if another has been saved since, nothing
    is written and ``StaleEdit`` tells whose. ``NotReady`` refuses the state ready while a check fails; a draft may
    fail any, and may have fewer than five options.
    """
    content = content_of(spec, option_set)
    if state == State.READY:
        _refuse_failed(content["checks"])
    if question is None:
        question = _new_question(school, author)
    else:
        question = _locked(question)
        _refuse_stale(question, based_on)
    if question.current is None or _differs(question.current, content):
        _add_version(question, author, content)
    question.note, question.state = note, state
    question.save()
    set_tags(question=question, names=tags)
    return question


@transaction.atomic
def add_questions(
    *,
    school: School,
    author: User,
    contents: Sequence[dict[str, Any]],
    tags: Iterable[str] = (),
    state: str = State.DRAFT,
    origin: Question | None = None,
) -> list[Question]:
    """Save many new questions under the same tags, all or none; ``contents`` are as ``content_of`` gives them."""
    names, questions = list(tags), []
    if state == State.READY:
        _refuse_failed([check for content in contents for check in content["checks"]])
    for content in contents:
        question = _new_question(school, author)
        _add_version(question, author, content, of_many=True)
        question.state, question.origin = state, origin
        question.save()
        set_tags(question=question, names=names)
        questions.append(question)
    return questions


@transaction.atomic
def redraw_letters(*, question: Question, by: User, lot: Random) -> bool:
    """Give the question a version with the letters of its options drawn anew; return whether it has options."""
    question = _locked(question)
    if question.current is None:
        return False
    anew = relabelled(OptionSet.from_json(question.current.options), lot)
    content = content_of(anew.spec, anew)
    if _differs(question.current, content):
        _add_version(question, by, content, of_many=True)
        question.save()
    return True


@transaction.atomic
def copy_question(*, question: Question, by: User) -> Question:
    """Make a new draft with the paper, options and tags of ``question``."""
    source = question.current
    assert source is not None, "every saved question has a version"
    copy = _new_question(question.school, by)
    _add_version(copy, by, {field: getattr(source, field) for field in CONTENT})
    copy.note = f"Copy of {question.number}" if not question.note else question.note
    copy.save()
    copy.tags.set(question.tags.all())
    return copy


@transaction.atomic
def set_state(*, question: Question, state: str) -> Question:
    """Make a question ready (only if every check passes), a draft again, or retire it."""
    question = _locked(question)
    assert question.current is not None, "every saved question has a version"
    if question.state == State.RETIRED and state == State.READY:
        raise WrongState(f"Question {question.number} is retired. Restore it first.")
    if state == State.READY:
        _refuse_failed(question.current.checks)
    question.state = state
    question.save(update_fields=["state", "changed_at"])
    return question


@transaction.atomic
def restore_version(*, question: Question, version: Version, based_on: int | None, by: User) -> int:
    """Make an old version the newest again, as a version of its own, and return its number.

    Raises ``StaleEdit`` if another was saved than ``based_on``. A ready question that then fails a check is a draft.
    """
    question = _locked(question)
    _refuse_stale(question, based_on)
    content = {field: getattr(version, field) for field in CONTENT}
    if question.current is None or _differs(question.current, content):
        _add_version(question, by, content)
        if question.state == State.READY and version.failed_checks:
            question.state = State.DRAFT
        question.save()
    assert question.current is not None, "a version was there, or was just made"
    return question.current.number


def restore_question(*, question: Question) -> Question:
    """Bring a retired question back: ready if every check passes, else as a draft."""
    passes = question.current is not None and not question.current.failed_checks
    set_state(question=question, state=State.DRAFT)
    return set_state(question=question, state=State.READY) if passes else question


def content_of(spec: Spec, option_set: OptionSet) -> dict[str, Any]:
    """Return what a version keeps of a spec and its options, by the names in ``CONTENT``."""
    options = json.loads(json.dumps(option_set.to_json()))  # as the database will give it back
    kin = kin_of(fold_sheet(spec.sheet, spec.folds), spec.punches)
    return {
        "spec": spec.to_json(),
        "options": options,
        "checks": [{"name": check.name, "ok": check.ok, "says": check.says} for check in option_set.checks()],
        "difficulty": options["difficulty"],
        "level": option_set.difficulty.level,
        "folds": len(spec.folds),
        "punches": len(spec.punches),
        "offered": len(option_set.options),
        "fingerprint": option_set.fingerprint,
        "folding": kin.folds,
        "punched_at": kin.positions,
    }


def _differs(version: Version, content: dict[str, Any]) -> bool:
    return version.spec != content["spec"] or version.options != content["options"]


def _new_question(school: School, author: User | None) -> Question:
    School.objects.select_for_update().get(pk=school.pk)
    last = Question.objects.filter(school=school).aggregate(last=Max("number"))["last"] or 0
    return Question.objects.create(school=school, number=last + 1, author=author)


def _locked(question: Question) -> Question:
    """Return the question as it is once its lock is ours.

    Its version is read afterwards, by its own query: joined in the same one, PostgreSQL would answer with the
    version as it stood before the wait.
    """
    return Question.objects.select_for_update().get(pk=question.pk)


def _refuse_stale(question: Question, based_on: int | None) -> None:
    current = question.current
    if current is not None and current.number != based_on:
        raise StaleEdit(current.number, current.author.name if current.author else "Someone")


def _refuse_failed(checks: list[dict[str, Any]]) -> None:
    failed = [check for check in checks if not check["ok"]]
    if failed:
        raise NotReady(failed)


def _add_version(question: Question, author: User | None, content: dict[str, Any], *, of_many: bool = False) -> None:
    """Add the next version. Pictures of many are left to the sweep where they would be drawn in this very request."""
    last = question.current.number if question.current else 0
    question.current = question.versions.create(number=last + 1, author=author, **content)
    for name, value in facts_of(content).items():
        setattr(question, name, value)
    version_id = question.current.pk
    if of_many and settings.CELERY_TASK_ALWAYS_EAGER:
        return
    # A lambda, since Django names a failing hook in its log, and a partial has no name.
    transaction.on_commit(lambda: ask_for_pictures(version_id), robust=True)


def ask_for_pictures(version_id: int) -> None:
    """Queue the drawing. Without a queue pages draw for themselves, and the sweep finds what is missing."""
    render_pictures.apply_async((version_id,), retry=False)
