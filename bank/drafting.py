"""Draw the next question of a batch, and its pictures. Reads the batch; writes nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from bank.asking import FRESH, SISTER, Ask, lot_for
from bank.models import Batch
from geometry.around import lot_around
from geometry.generation import LOT, TEACHING, one_question
from geometry.option_sets import OptionSet
from geometry.pictures import draw_option, draw_stem
from geometry.spec import Spec, read_spec
from geometry.unfolding import unfold
from geometry.variants import variants

PATIENCE = {LOT: 150, TEACHING: 20}  # draws a try: one or two seconds at most where nothing is found
VARIATIONS = {LOT: 60, TEACHING: 4}  # the same for variants


def draw_next(batch: Batch, place: int, *, turn: int = 0, tries: int = 0, level: int | None = None) -> OptionSet | None:
    """Return a question for a place, unlike all others of the batch, or None when this try found none.

    ``turn`` and ``tries`` give the draw a lot of its own; ``level`` asks for one level instead of the place's. Raises
    ``GeometryError`` with a sentence where that tells why a question allows no variant or sister, or no other one.
    Of a teaching set, one that fails a check is not taken; of a set drawn by lot nothing may be refused after the lot.
    """
    made = _draw(batch, place, turn, tries, level)
    if made is None or made.sets == LOT or all(check.ok for check in made.checks()):
        return made
    return None


def _draw(batch: Batch, place: int, turn: int, tries: int, level: int | None) -> OptionSet | None:
    ask = Ask.from_json(batch.ask)
    seed = lot_for(ask.seed, place, turn, tries)
    made = list(batch.candidates.values_list("fingerprint", "kinds"))
    known = [fingerprint for fingerprint, _ in made]
    if ask.kind != FRESH:
        return _from_question(batch, ask, seed, known)
    wish = ask.wishes()[place - 1]
    return one_question(
        wish if level is None else replace(wish, difficulty=(level, level)),
        sets=ask.sets,
        seed=seed,
        known=known,
        used=Counter(kind for _, kinds in made for kind in kinds),
        patience=PATIENCE[ask.sets],
    )


def _from_question(batch: Batch, ask: Ask, seed: int, known: list[str]) -> OptionSet | None:
    """A variant of the batch's question, or one of five sisters drawn by lot around it."""
    if ask.spec is not None:
        return _sister(read_spec(ask.spec), seed, known)
    assert batch.origin is not None, "a batch that is not fresh has a question"
    assert batch.origin.current is not None, "every saved question has a version"
    model = OptionSet.from_json(batch.origin.current.options)
    if ask.kind == SISTER:
        return _sister(model.spec, seed, known)
    return variants(model, 1, seed, known, VARIATIONS[model.sets])[0][1]


def _sister(spec: Spec, seed: int, known: list[str]) -> OptionSet | None:
    sister = lot_around(spec, seed)
    return sister if sister.fingerprint not in known else None


def draw_pictures_of(option_set: OptionSet) -> dict[str, list[str]]:
    """Return the stem and the options, A first, as SVG for a small size."""
    sheet = option_set.spec.sheet
    options = [draw_option(sheet, o.holes, title=f"Option {o.label}", size="small") for o in option_set.options]
    stem = draw_stem(unfold(option_set.spec), size="small")
    return {"stem": [picture.svg for picture in stem], "options": [picture.svg for picture in options]}
