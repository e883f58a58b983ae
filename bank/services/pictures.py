"""Keep a version's pictures: SVG in the database, bitmaps in the files' storage."""

from __future__ import annotations

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from bank.drawing import draw_pictures
from bank.models import Picture, Version
from geometry.pictures.bitmap import bitmap

WIDTHS = {1: 400, 2: 800}  # pixels, by the density of the screen


def render_pictures(*, version: Version) -> int:
    """Draw and keep what is missing of ``version``'s pictures; return how many bitmaps were made.

    Safe to repeat and to run twice at once: a name belongs to one picture of one version, which never changes.
    """
    Picture.objects.bulk_create(draw_pictures(version), ignore_conflicts=True)
    lacking = list(version.pictures.filter(has_png=False).exclude(kind=Picture.Kind.THUMB))
    made = sum(_keep_bitmap(picture, density) for picture in lacking for density in WIDTHS)
    Picture.objects.filter(pk__in=[picture.pk for picture in lacking]).update(has_png=True)
    return made


def bitmap_path(picture: Picture, density: int) -> str:
    """Return where the bitmap lies in the storage; folders of 256 keep listings short."""
    return f"pictures/{picture.name[:2]}/{picture.name}@{density}x.png"


def bitmap_of(picture: Picture, density: int) -> bytes:
    """Return the PNG as it is kept, or drawn now where it is not."""
    path = bitmap_path(picture, density)
    if picture.has_png and default_storage.exists(path):
        with default_storage.open(path) as file:
            return file.read()
    return _draw_bitmap(picture, density)


def _draw_bitmap(picture: Picture, density: int) -> bytes:
    return bitmap(picture.svg, width=WIDTHS[density])


def _keep_bitmap(picture: Picture, density: int) -> bool:
    path = bitmap_path(picture, density)
    if default_storage.exists(path):
        return False
    kept = default_storage.save(path, ContentFile(_draw_bitmap(picture, density)))
    if kept != path:  # another process kept it first
        default_storage.delete(kept)
    return kept == path
