"""Pictures for paper: black on white, each with the width at which it is true to its question's scale."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from assignments.paper.shuffles import Printed
from assignments.papers import LETTERS
from geometry.option_sets import OptionSet
from geometry.pictures import Picture, draw_option, draw_stem
from geometry.pictures.frame import WIDTH
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold

PRINT = "print"
_BOX = re.compile(r'<svg [^>]*?viewBox="\S+ \S+ ([\d.]+) ([\d.]+)"')


def unfolded(question: Printed) -> tuple[Unfolding, OptionSet]:
    return unfold(read_spec(question.version.spec)), OptionSet.from_json(question.version.options)


def stem_of(unfolding: Unfolding) -> list[dict[str, Any]]:
    """One picture for each fold and the punched sheet, with what stands under it."""
    captions = [*(f"Fold {k}" for k in range(1, len(unfolding.spec.folds) + 1)), "Punch"]
    pictures = draw_stem(unfolding, theme=PRINT)
    return [shown(picture) | {"caption": caption} for picture, caption in zip(pictures, captions, strict=True)]


def options_of(options: OptionSet, order: str) -> list[dict[str, Any]]:
    """The five pictures as the paper has them. What they say aloud is what everybody sees, and no more."""
    holes = {option.label: option.holes for option in options.options}
    drawn = [draw_option(options.spec.sheet, holes[own], theme=PRINT, title="Option") for own in order]
    return [
        shown(picture) | {"alt": f"Option {letter}: {lowered(picture.description)}", "letter": letter}
        for letter, picture in zip(LETTERS, drawn, strict=True)
    ]


def shown(picture: Picture) -> dict[str, Any]:
    """A picture as a template takes it; ``wide`` and ``high`` are in sheet widths until ``scale`` has seen them."""
    found = _BOX.match(picture.svg)
    assert found is not None, "our pictures say how large they are"
    wide, high = (float(units) / WIDTH for units in found.groups())
    return {"svg": picture.svg, "alt": f"{picture.title}: {picture.description}", "wide": wide, "high": high}


def scale(pictures: Iterable[dict[str, Any]], sheet: float) -> list[dict[str, Any]]:
    """The pictures with ``wide`` and ``high`` in millimetres, where a sheet is ``sheet`` wide."""
    return [picture | {side: round(picture[side] * sheet, 3) for side in ("wide", "high")} for picture in pictures]


def in_rows(pictures: Sequence[dict[str, Any]], width: float, most: int) -> list[list[dict[str, Any]]]:
    """The pictures in as few rows as hold them side by side, the rows as even as can be."""
    fit = max(1, min(most, int(width / max(picture["wide"] for picture in pictures) + 1e-6)))
    rows = -(-len(pictures) // fit)
    return list(_evenly(pictures, rows))


def _evenly(pictures: Sequence[dict[str, Any]], rows: int) -> Iterator[list[dict[str, Any]]]:
    long, more = divmod(len(pictures), rows)
    start = 0
    for row in range(rows):
        end = start + long + (row < more)
        yield list(pictures[start:end])
        start = end


def lowered(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
