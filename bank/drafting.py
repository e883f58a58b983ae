"""Draw the next question of a batch, and its pictures. Reads the batch; writes nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from bank.asking import Ask, lot_for
from bank.models import Batch
from geometry.generation import one_question
from geometry.option_sets import OptionSet
from geometry.pictures import draw_option, draw_stem
from geometry.unfolding import unfold

PATIENCE = 150  # draws a step: about a second where nothing is found


def draw_next(batch: Batch, place: int, *, turn: int = 0, tries: int = 0, level: int | None = None) -> OptionSet | None:
    """Return a question for a place, unlike all others of the batch, or None when this try found none.

    ``turn`` and ``tries`` give the draw a lot of its own; ``level`` asks for one level instead of the place's.
    """
    ask = Ask.from_json(batch.ask)
    wish = ask.wishes()[place - 1]
    if level is not None:
        wish = replace(wish, difficulty=(level, level))
    made = list(batch.candidates.values_list("fingerprint", "kinds"))
    return one_question(
        wish,
        sets=ask.sets,
        seed=lot_for(ask.seed, place, turn, tries),
        known=[fingerprint for fingerprint, _ in made],
        used=Counter(kind for _, kinds in made for kind in kinds),
        patience=PATIENCE,
    )


def draw_pictures_of(option_set: OptionSet) -> dict[str, list[str]]:
    """Return the stem and the options, A first, as SVG for a small size."""
    sheet = option_set.spec.sheet
    options = [draw_option(sheet, o.holes, title=f"Option {o.label}", size="small") for o in option_set.options]
    stem = draw_stem(unfold(option_set.spec), size="small")
    return {"stem": [picture.svg for picture in stem], "options": [picture.svg for picture in options]}
