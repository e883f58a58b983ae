"""One question: all that is known of it, and the deeds of its buttons."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from accounts.access import SignedInRequest, adults_only
from bank.display import LETTERS, Pictures, marked_pictures, option_facts, option_says, pictures_for
from bank.drawing import Kind
from bank.errors import BankError
from bank.models import Picture, Question, State, Version
from bank.queries import sets_with, uses_of
from bank.reasons import expected_facility, reasons_for
from bank.repeats import Asked, repeats_of
from bank.services.questions import copy_question, restore_question, set_state
from geometry.generation import LOT


@require_safe
@adults_only
def detail(request: SignedInRequest, pk: int) -> HttpResponse:
    question = _find(request, pk)
    version = _version(question, request.GET.get("version", ""))
    pictures = pictures_for([version], [Kind.STEM, Kind.OPTION, Kind.STEP])[version.pk]
    context = {
        "question": question,
        "version": version,
        "pictures": pictures,
        "slides": _slides(pictures),
        "options": _options(version),
        "reasons": reasons_for(version.difficulty),
        "facility": expected_facility(version.difficulty),
        "versions": question.versions.select_related("author").order_by("-number"),
        "uses": uses_of([question])[question.pk],
        "sets": sets_with(question),
        "made_from_it": question.made_from_it.order_by("number"),
        "can_be_guessed": version.options["sets"] != LOT,
        "repeats": repeats_of(question.school_id, [Asked.of_version(version)], [pk])[0],
    }
    return render(request, "bank/detail.html", context)


@require_POST
@adults_only
def copy(request: SignedInRequest, pk: int) -> HttpResponse:
    question = _find(request, pk)
    made = copy_question(question=question, by=request.user)
    messages.success(request, f"Question {made.number} is a copy of question {question.number}.")
    return redirect("bank:edit", made.pk)


@require_POST
@adults_only
def ready(request: SignedInRequest, pk: int) -> HttpResponse:
    return _change(request, pk, State.READY, "Question {} is ready to be set.")


@require_POST
@adults_only
def retire(request: SignedInRequest, pk: int) -> HttpResponse:
    return _change(request, pk, State.RETIRED, "Question {} is retired. Sets and results that have it keep it.")


@require_POST
@adults_only
def restore(request: SignedInRequest, pk: int) -> HttpResponse:
    restored = restore_question(question=_find(request, pk))
    messages.success(request, f"Question {restored.number} is back, as {restored.get_state_display().lower()}.")
    return redirect("bank:detail", pk)


def _change(request: SignedInRequest, pk: int, state: str, says: str) -> HttpResponse:
    question = _find(request, pk)
    try:
        set_state(question=question, state=state)
    except BankError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, says.format(question.number))
    return redirect("bank:detail", pk)


def _find(request: SignedInRequest, pk: int) -> Question:
    questions = Question.objects.visible_to(request.user).select_related("current", "author", "school", "origin")
    return get_object_or_404(questions.filter(current__isnull=False), pk=pk)


def _version(question: Question, number: str) -> Version:
    """Return the version asked for by its number, or the current one."""
    if not number and question.current:
        return question.current
    return get_object_or_404(question.versions, number=number if number.isdigit() else 0)


def _slides(pictures: Pictures) -> list[tuple[str, Picture]]:
    """Return the stored pictures, each with what it shows; none while they are not stored yet."""
    letters = [f"Option {letter}" for letter in LETTERS]
    named = [(picture.title, picture) for picture in pictures.stem]
    named += list(zip(letters, pictures.options, strict=False))
    named += [(picture.title, picture) for picture in pictures.steps[1:]]  # the first is the stem's last
    return [(name, picture) for name, picture in named if picture.pk]


def _options(version: Version) -> list[dict[str, Any]]:
    """Return each option with its marked picture, whether it is the key, its sentence and its first wrong fold."""
    return [
        {
            "letter": letter,
            "picture": picture,
            "is_key": letter == version.key,
            "says": option_says(version, letter),
            "wrong_from": option_facts(version, letter).get("first_wrong_fold"),
        }
        for letter, picture in zip(LETTERS, marked_pictures(version), strict=False)
    ]
