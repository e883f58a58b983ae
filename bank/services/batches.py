"""Have questions made, look them through, and save those kept: all of them or none.

The drawing is a series of small steps. Each reads how far the batch is, draws by a lot that follows from the seed, the
place and the try alone, and moves on by a conditional update that also keeps what was found. So a step repeated, done
twice at once, or never finished makes no difference, and a worker and a page may draw in turn.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from time import monotonic

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from accounts.models import User
from bank.asking import Ask
from bank.drafting import draw_next, draw_pictures_of
from bank.errors import BatchError, TooMuchAsked
from bank.models import Batch, Candidate, Question
from bank.repeats import Asked, repeats_of
from bank.services.questions import add_questions, content_of
from geometry.errors import GeometryError
from geometry.option_sets import OptionSet

KEPT = timedelta(days=7)
OPEN_AT_ONCE = 2  # batches of one person being drawn
AN_HOUR = 400  # questions for one person
TRIES_AGAIN = 2  # for a replacement, while somebody waits
TRIES = 10  # for a place, before its wish counts as exhausted


@transaction.atomic
def start_batch(*, ask: Ask, by: User, at: datetime, origin: Question | None = None) -> Batch:
    """Keep what is asked for and have a worker draw it; where there is none, the page has it drawn bit by bit."""
    forget_batches(at=at)
    User.objects.select_for_update().get(pk=by.pk)  # one at a time, so that two requests do not both find room
    _refuse_too_much(by, ask.count, at)
    batch = Batch.objects.create(
        school=by.school,
        asked_by=by,
        asked_at=at,
        moved_at=at,
        ask=ask.to_json(),
        wanted=ask.count,
        origin=origin,
        queued=not settings.CELERY_TASK_ALWAYS_EAGER,
    )
    if batch.queued:
        batch_id = batch.pk
        transaction.on_commit(lambda: ask_worker(batch_id), robust=True)
    return batch


def draw(*, batch: Batch, seconds: float) -> bool:
    """Draw for about so many seconds; return whether there is more to draw. Safe to repeat and to run twice at once."""
    until = monotonic() + seconds
    while _step(batch):
        if monotonic() >= until:
            return True
    return False


def stop(*, batch: Batch, at: datetime) -> None:
    """Draw no more. What was made stays to be looked through."""
    Batch.objects.filter(pk=batch.pk, ended_at=None).update(ended_at=at, stopped=True)


@transaction.atomic
def set_kept(*, batch: Batch, place: int, kept: bool) -> None:
    """Keep or reject the candidate shown at a place."""
    _hold_unsaved(batch)
    shown = _shown_at(batch, place)
    if shown is not None:
        Candidate.objects.filter(pk=shown.pk).update(kept=kept)


def replace(*, batch: Batch, place: int, at: datetime) -> None:
    """Draw another candidate for a place, of the level of the one there. ``BatchError`` says that none was found."""
    _refuse_too_much(batch.asked_by, 1, at)
    shown = _shown_at(batch, place)
    if shown is None:
        raise BatchError("Nothing was made for that place.")
    draws = (
        draw_next(batch, place, turn=shown.turn + 1, tries=tries, level=shown.level) for tries in range(TRIES_AGAIN)
    )
    try:
        made = next((found for found in draws if found is not None), None)
    except GeometryError as error:
        raise BatchError(f"It stays. {error}") from None
    if made is None:
        raise BatchError("No other question like this one was found. It stays.")
    candidate = _candidate(batch, place, shown.turn + 1, made)
    with transaction.atomic():
        _hold_unsaved(batch)
        Candidate.objects.bulk_create([candidate], ignore_conflicts=True)  # a second click drew the same


@transaction.atomic
def save_kept(*, batch: Batch, tags: Iterable[str], state: str, at: datetime) -> list[Question]:
    """Put the kept candidates into the bank, in the order shown. Once saved, asking again gives the same questions."""
    batch = Batch.objects.select_for_update().get(pk=batch.pk)
    kept = [candidate for candidate in batch.shown() if candidate.kept]
    if batch.saved_at is not None:
        return [candidate.question for candidate in kept if candidate.question is not None]
    if batch.ended_at is None:
        raise BatchError("Questions are still being made. Wait until they are there, or stop it first.")
    if not kept:
        raise BatchError("Every question is rejected, so there is nothing to save. Keep one at least.")
    questions = add_questions(
        school=batch.school,
        author=batch.asked_by,
        contents=[candidate.content for candidate in kept],
        tags=tags,
        state=state,
        origin=batch.origin,
    )
    for candidate, question in zip(kept, questions, strict=True):
        candidate.question = question
    Candidate.objects.bulk_update(kept, ["question"])
    batch.saved_at = at
    batch.save(update_fields=["saved_at"])
    return questions


def forget_batches(*, at: datetime) -> int:
    """Delete batches past their days; what was saved of them is in the bank."""
    return Batch.objects.filter(asked_at__lt=at - KEPT).delete()[0]


def ask_worker(batch_id: int) -> None:
    """Queue the drawing; while the queue is away the page does it."""
    from bank.tasks import draw_batch  # tasks call this module

    try:
        draw_batch.apply_async((batch_id,), retry=False)
    except OperationalError:
        Batch.objects.filter(pk=batch_id).update(queued=False)


def _step(batch: Batch) -> bool:
    """Draw once for the next place. Return whether there is more to do."""
    batch.refresh_from_db(fields=["place", "tries", "gaps", "ended_at"])
    if batch.ended_at is not None:
        return False
    if batch.place > batch.wanted:
        Batch.objects.filter(pk=batch.pk, ended_at=None).update(ended_at=timezone.now())
        return False
    why = ""
    try:
        made = draw_next(batch, batch.place, tries=batch.tries)
    except GeometryError as error:
        made, why = None, str(error)
    if made is not None:
        _found(batch, made)
    elif batch.tries + 1 < TRIES:
        _move(batch, tries=batch.tries + 1)
    else:
        _give_up(batch, why)
    return True


@transaction.atomic
def _found(batch: Batch, made: OptionSet) -> None:
    if _move(batch, place=_after(batch, batch.gaps), tries=0):
        _candidate(batch, batch.place, 0, made).save()


def _give_up(batch: Batch, why: str) -> None:
    """Note the place, and all later ones with the same wish, as not found; ``why`` where the question says so."""
    wishes = Ask.from_json(batch.ask).wishes()
    wish = wishes[batch.place - 1]
    gaps = [*batch.gaps, *(p for p in range(batch.place, batch.wanted + 1) if wishes[p - 1] == wish)]
    _move(batch, place=_after(batch, gaps), tries=0, gaps=gaps, why=why)


def _after(batch: Batch, gaps: list[int]) -> int:
    return next(place for place in range(batch.place + 1, batch.wanted + 2) if place not in gaps)


def _move(batch: Batch, **to: object) -> bool:
    """Move on if the batch is still where it was read; else somebody else did, or stopped it."""
    here = Batch.objects.filter(pk=batch.pk, place=batch.place, tries=batch.tries, ended_at=None)
    return bool(here.update(moved_at=timezone.now(), **to))


def _candidate(batch: Batch, place: int, turn: int, made: OptionSet) -> Candidate:
    content = content_of(made.spec, made)
    (repeats,) = repeats_of(batch.school_id, [Asked.of_content(content)], [batch.origin_id])
    return Candidate(
        batch=batch,
        place=place,
        turn=turn,
        content=content,
        pictures=draw_pictures_of(made),
        level=made.difficulty.level,
        facility=made.difficulty.facility,
        fingerprint=made.fingerprint,
        kinds=sorted({mistake.kind for option in made.options for mistake in option.mistakes}),
        kept=not repeats.same and all(check["ok"] for check in content["checks"]),
    )


def _shown_at(batch: Batch, place: int) -> Candidate | None:
    return batch.candidates.filter(place=place).order_by("-turn").first()


def _hold_unsaved(batch: Batch) -> None:
    """Hold the batch until the transaction ends, so that nothing changes under somebody who saves it."""
    if Batch.objects.select_for_update().get(pk=batch.pk).saved_at is not None:
        raise BatchError("These questions are saved already. Change them in the bank.")


def _refuse_too_much(by: User, wanted: int, at: datetime) -> None:
    drawing = list(Batch.objects.filter(asked_by=by, ended_at=None))
    if wanted > 1 and len(drawing) >= OPEN_AT_ONCE:
        raise TooMuchAsked("Questions are being made for you twice already. Wait for one of them, or stop it.", 60)
    still = sum(batch.wanted + 1 - batch.place for batch in drawing)
    made = Candidate.objects.filter(batch__asked_by=by, made_at__gt=at - timedelta(hours=1)).count()
    if made + still + wanted > AN_HOUR:
        raise TooMuchAsked(
            f"At most {AN_HOUR} questions an hour are made for one person, so that everybody gets a turn: "
            f"{made + still} are made or on their way. Ask for fewer, or later.",
            3600,
        )
