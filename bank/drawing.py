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


def picture_name(version_id: int, kind: str, place: int, svg: str) -> str:
    """Return the 64 hex digits of HMAC-SHA256 under a key derived from the server's secret.

    The drawing itself is part of it, so that a name means one picture for good: also when a restored database
    gives a version's number anew, or a later release draws better.
    """
    shown = f"{version_id}:{kind}:{place}:{svg}"
    return salted_hmac("bank.picture", shown, algorithm="sha256").hexdigest()


def draw_pictures(version: Version, kinds: Collection[str] = ALL_KINDS) -> list[Picture]:
    """Draw ``version`` from its spec and option set: rows not yet saved, in the order of their places."""
    unfolding = unfold(read_spec(version.spec))
    drawn = ((kind, *pair) for kind in kinds for pair in _draw_kind(kind, unfolding, version))
    return [_row(version, kind, place, drawing) for kind, place, drawing in drawn]


def _row(version: Version, kind: str, place: int, drawing: Drawing) -> Picture:
    return Picture(
        version=version,
        kind=kind,
        place=place,
        name=picture_name(version.pk, kind, place, drawing.svg),
        title=drawing.title,
        description=drawing.description,
        svg=drawing.svg,
    )


def _draw_kind(kind: str, unfolding: Unfolding, version: Version) -> Iterator[tuple[int, Drawing]]:
    if kind in (Kind.STEM, Kind.THUMB):
        yield from enumerate(draw_stem(unfolding, size="small" if kind == Kind.THUMB else "normal"))
    elif kind == Kind.STEP:
        folds = len(unfolding.spec.folds)
        yield from ((folds - opened, drawing) for opened, drawing in enumerate(draw_steps(unfolding)))
    else:
        # All five under one title: a letter in the picture would follow an option through every shuffled order.
        options = OptionSet.from_json(version.options).options
        yield from enumerate(draw_option(unfolding.spec.sheet, o.holes, title="Option") for o in options)
