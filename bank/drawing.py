"""Draw the pictures of a version: the one code path for stored pictures and for pages that draw at once.

A picture's name is a keyed digest of what it shows, so an address tells neither the option's letter, the
order of drawing, the key nor a mistake, and cannot be guessed without the server's secret.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from django.utils.crypto import salted_hmac

from bank.models import Picture, Version
from geometry.option_sets import OptionSet
from geometry.pictures import Picture as Drawing
from geometry.pictures import draw_option, draw_stem, draw_steps
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold

Kind = Picture.Kind
ALL_KINDS = tuple(Kind)


def picture_name(version_id: int, kind: str, place: int) -> str:
    """Return the 64 hex digits of HMAC-SHA256 under a key derived from the server's secret."""
    return salted_hmac("bank.picture", f"{version_id}:{kind}:{place}", algorithm="sha256").hexdigest()


def draw_pictures(version: Version, kinds: Collection[str] = ALL_KINDS) -> list[Picture]:
    """Draw ``version`` from its spec and option set: rows not yet saved, in the order of their places."""
    unfolding = unfold(read_spec(version.spec))
    return [
        Picture(
            version=version,
            kind=kind,
            place=place,
            name=picture_name(version.pk, kind, place) if version.pk else "",
            title=drawing.title,
            description=drawing.description,
            svg=drawing.svg,
        )
        for kind in kinds
        for place, drawing in _draw_kind(kind, unfolding, version)
    ]


def _draw_kind(kind: str, unfolding: Unfolding, version: Version) -> Iterator[tuple[int, Drawing]]:
    if kind in (Kind.STEM, Kind.THUMB):
        yield from enumerate(draw_stem(unfolding, size="small" if kind == Kind.THUMB else "normal"))
    elif kind == Kind.STEP:
        folds = len(unfolding.spec.folds)
        yield from ((folds - opened, drawing) for opened, drawing in enumerate(draw_steps(unfolding)))
    else:
        options = OptionSet.from_json(version.options).options
        for place, option in enumerate(options):
            yield (
                place,
                draw_option(unfolding.spec.sheet, option.holes, title=f"Option {option.label}"),
            )
