"""Work done behind the page: pictures of versions. Every task may die and be repeated."""

from __future__ import annotations

import logging

from celery import shared_task
from django.utils import timezone

from bank.models import Batch, Version
from bank.services import pictures

log = logging.getLogger(__name__)
A_TASK = 100  # seconds of drawing before another task goes on, well within a task's time
SWEEP = 50  # versions a sweep takes on, so that one does not outlast a task's time


@shared_task
def render_pictures(version_id: int) -> int:
    """Keep the pictures of a version; return how many bitmaps were made (0 when all were there)."""
    version = Version.objects.filter(pk=version_id).first()
    return pictures.render_pictures(version=version) if version else 0


@shared_task
def sweep_pictures() -> int:
    """Render versions that lack pictures: a killed worker's, or saved while the queue was away; say how many were.

    One that cannot be drawn keeps no other waiting, and stands on the administrator's page.
    """
    drawn = 0
    waiting = list(Version.objects.lacking_pictures().order_by("pk")[:SWEEP])
    for version in waiting:
        try:
            pictures.render_pictures(version=version)
            drawn += 1
        except Exception:
            log.exception("the pictures of version %s could not be drawn", version.pk)
    return drawn


@shared_task
def draw_batch(batch_id: int) -> bool:
    """Draw for a batch, and leave what is then missing to another task; return whether there is more to draw."""
    from bank.services import batches  # saving questions asks for tasks

    batch = Batch.objects.filter(pk=batch_id).first()
    more = batch is not None and batches.draw(batch=batch, seconds=A_TASK)
    if more:
        batches.ask_worker(batch_id)
    return more


@shared_task
def forget_batches() -> int:
    """Delete batches past their days."""
    from bank.services import batches

    return batches.forget_batches(at=timezone.now())


@shared_task
def forget_imports() -> int:
    """Forget files of questions that were looked over more than a day ago."""
    from bank.services import importing  # which saves questions, whose pictures are drawn by the tasks above

    return importing.forget_imports(at=timezone.now())
