"""Work done behind the page: pictures of versions. Every task may die and be repeated."""

from __future__ import annotations

from celery import shared_task

from bank.models import Version
from bank.services import pictures

SWEEP = 50  # versions a sweep takes on, so that one does not outlast a task's time


@shared_task
def render_pictures(version_id: int) -> int:
    """Keep the pictures of a version; return how many bitmaps were made (0 when all were there)."""
    version = Version.objects.filter(pk=version_id).first()
    return pictures.render_pictures(version=version) if version else 0


@shared_task
def sweep_pictures() -> int:
    """Render versions that lack pictures: a killed worker's, or saved while the queue was away."""
    waiting = list(Version.objects.lacking_pictures().order_by("pk")[:SWEEP])
    for version in waiting:
        pictures.render_pictures(version=version)
    return len(waiting)
