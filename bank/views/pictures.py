"""A picture by its opaque name, for the adults of its school."""

from __future__ import annotations

from django.core.files.storage import default_storage
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from accounts.access import SignedInRequest, adults_only
from bank.models import Picture
from bank.services.pictures import bitmap_path

A_YEAR = 31_536_000


BITMAPS = {"png": 1, "2x.png": 2}  # the density of the screen each is for


@require_safe
@adults_only
def picture(request: SignedInRequest, name: str, ending: str) -> HttpResponse:
    """Answer with the picture as SVG or PNG. A name always means the same picture, so it may be kept for good."""
    found = get_object_or_404(Picture.objects.visible_to(request.user), name=name)
    body = found.svg.encode() if ending == "svg" else _bitmap(found, BITMAPS[ending])
    response = HttpResponse(body, content_type="image/svg+xml" if ending == "svg" else "image/png")
    response["Cache-Control"] = f"private, max-age={A_YEAR}, immutable"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _bitmap(picture: Picture, density: int) -> bytes:
    if not picture.has_png:
        raise Http404("This picture has no bitmap yet.")
    with default_storage.open(bitmap_path(picture, density)) as file:
        return file.read()
