"""Pictures for paper: black on white, each with the width at which it is true to its question's scale."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Any

from assignments.paper.shuffles import Printed
from assignments.papers import LETTERS
from geometry.option_sets import OptionSet
from geometry.pictures import Picture, draw_marked_option, draw_option, draw_stem, draw_steps
from geometry.pictures.frame import WIDTH
from geometry.spec import Spec, read_spec
from geometry.unfolding import unfold

PRINT = "print"
_BOX = re.compile(r'<svg [^>]*?viewBox="\S+ \S+ ([\d.]+) ([\d.]+)"')


class Drawn:
    """A question worked out, each of its pictures drawn when it is first asked for."""

    def __init__(self, spec: Spec, options: OptionSet) -> None:
        self.unfolding = unfold(spec)
        self.options = options

    @cached_property
    def stem(self) -> list[dict[str, Any]]:
        """One picture for each fold and the punched sheet, with what stands under it."""
        captions = [*(f"Fold {k}" for k in range(1, len(self.unfolding.spec.folds) + 1)), "Punch"]
        pictures = draw_stem(self.unfolding, theme=PRINT)
        return [shown(picture) | {"caption": caption} for picture, caption in zip(pictures, captions, strict=True)]

    @cached_property
    def steps(self) -> list[dict[str, Any]]:
        """One picture for each opening; the punched sheet before them is in the stem already."""
        openings = range(len(self.unfolding.spec.folds), 0, -1)
        pictures = draw_steps(self.unfolding, theme=PRINT)[1:]
        return [shown(p) | {"caption": f"Fold {fold} opened"} for fold, p in zip(openings, pictures, strict=True)]

    @cached_property
    def marked(self) -> dict[str, dict[str, Any]]:
        """The options by their own letters, the first wrong copy of each ringed."""
        return {o.label: shown(draw_marked_option(self.unfolding, o, theme=PRINT)) for o in self.options.options}

    @cached_property
    def plain(self) -> dict[str, dict[str, Any]]:
        """The options by their own letters."""
        sheet = self.options.spec.sheet
        return {o.label: shown(draw_option(sheet, o.holes, theme=PRINT)) for o in self.options.options}

    def in_order(self, order: str) -> list[dict[str, Any]]:
        """The five pictures as a paper has them. What they say aloud is what everybody sees, and no more."""
        return [
            self.plain[own] | {"alt": self.plain[own]["alt"].replace("Option", f"Option {letter}"), "letter": letter}
            for letter, own in zip(LETTERS, order, strict=True)
        ]


def drawn(question: Printed) -> Drawn:
    """The question with its pictures; those of the last hundred are remembered, for a set is printed in many forms."""
    return _drawn(json.dumps(question.version.spec), json.dumps(question.version.options))


@lru_cache(maxsize=100)
def _drawn(spec: str, options: str) -> Drawn:
    return Drawn(read_spec(spec), OptionSet.from_json(json.loads(options)))


def shown(picture: Picture) -> dict[str, Any]:
    """A picture as a template takes it; ``wide`` and ``high`` are in sheet widths until ``scale`` has seen them."""
    found = _BOX.match(picture.svg)
    assert found is not None, "our pictures say how large they are"
    wide, high = (float(units) / WIDTH for units in found.groups())
    return {"svg": picture.svg, "alt": f"{picture.title}: {lowered(picture.description)}", "wide": wide, "high": high}


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
