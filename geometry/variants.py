"""Variants: parallel questions of one question's structure and level, for retests and for papers side by side.

A variant has the folds of its model, turned or mirrored with the sheet; its punches lie elsewhere, through as many
layers, in shapes of like symmetry. Its options are its own: a teaching set offers its model's mistakes where it can; a
set drawn by lot stays one, each of its five sisters as parallel to the model as the one that is drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

from geometry.around import five_around, given
from geometry.composing import clear_places, layers_at
from geometry.creasing import CREASES, OBLIQUE, kind_of
from geometry.errors import GeometryError, OptionSetError
from geometry.fingerprints import fingerprint_of
from geometry.folding import Folded, fold_sheet
from geometry.openings import Paper
from geometry.option_sets import OptionSet, make_options
from geometry.plane import Point
from geometry.shapes import SHAPES
from geometry.sisters import Five, by_lot
from geometry.spec import Punch, Spec
from geometry.turned_specs import exact_symmetries, turned_spec
from geometry.wishes import Wishes

PATIENCE = 60  # variations without a new question before no more are expected
LOTS = 6  # fives drawn around one variation
PARALLEL = ("folds", "punches", "layers", "turning", "shapes")  # features that a variant shares with its model
GAP = 1.25  # sizes between the centres of two punches, at least

Made = tuple[Spec, OptionSet]


def variants(question: Spec | OptionSet, count: int, seed: int = 0) -> list[Made]:
    """Up to ``count`` parallel questions, none the same question as another or as the one given (by fingerprint).

    A spec stands for a question with a teaching set. The same question and seed give the same variants. The list is
    shorter than asked for when no more are found. Raises ``OptionSetError`` when there is none, and what
    ``make_options`` raises for a spec that carries no question.
    """
    model = question if isinstance(question, OptionSet) else make_options(question, seed)
    rng = Random(seed)  # noqa: S311  (a lot, not a secret)
    draw = _lots(model) if model.sets == "lot" else _lessons(model)
    seen, found, fruitless = {model.fingerprint}, list[Made](), 0
    while len(found) < count and fruitless < PATIENCE:
        varied = vary(model.spec, rng)
        made = draw(varied, seen, rng) if varied is not None else None
        fruitless = 0 if made is not None else fruitless + 1
        if made is not None:
            seen.add(made.fingerprint)
            found.append((made.spec, made))
    if not found and count:
        raise OptionSetError(_none_found(model))
    return found


def vary(spec: Spec, rng: Random) -> Spec | None:
    """The spec turned or mirrored at random, its punches elsewhere, in like shapes; None when nothing came of it."""
    turned = turned_spec(spec, rng.choice(exact_symmetries(spec.sheet)))
    if turned is None:
        return None
    shapes = _like_shapes([punch.shape for punch in turned.punches], rng)
    punches = [replace(p, shape=shape) for p, shape in zip(turned.punches, shapes, strict=True)]
    folded = fold_sheet(turned.sheet, turned.folds)
    return replace(turned, punches=_elsewhere(folded, punches, rng)) if spec.sheet.is_convex else None


def _like_shapes(shapes: Sequence[str], rng: Random) -> list[str]:
    """For each shape one with the same symmetries, different shapes staying different."""
    exchanged: dict[str, str] = {}
    for shape in dict.fromkeys(shapes):
        like = [other for other in _like(shape) if other not in exchanged.values()]
        exchanged[shape] = rng.choice(like) if like else shape
    return [exchanged[shape] for shape in shapes] if len(set(exchanged.values())) == len(exchanged) else list(shapes)


def _like(shape: str) -> list[str]:
    if shape not in SHAPES:
        return [shape]
    own = SHAPES[shape]
    return [name for name, other in SHAPES.items() if (other.rotations, other.axes) == (own.rotations, own.axes)]


def _elsewhere(folded: Folded, punches: Sequence[Punch], rng: Random) -> tuple[Punch, ...]:
    """The punches in other places with as many layers; one that lies across an edge, or has no other place, stays."""
    paper = Paper(folded)
    placed: list[Punch] = []
    for i, punch in enumerate(punches):
        layers = layers_at(paper, _at(punch.at), float(punch.size))
        kept = [*placed, *(p for p in punches[i + 1 :] if layers_at(paper, _at(p.at), float(p.size)) is None)]
        places = [
            at
            for at in (clear_places(paper, float(punch.size), layers=layers) if layers else ())
            if layers_at(paper, _at(at), float(punch.size)) == layers and all(_far(at, punch.size, q) for q in kept)
        ]
        placed.append(replace(punch, at=rng.choice(places)) if places else punch)
    return tuple(placed)


def _at(p: Point) -> complex:
    return complex(float(p[0]), float(p[1]))


def _far(at: Point, size: Fraction, other: Punch) -> bool:
    return abs(_at(at) - _at(other.at)) >= GAP * float(size + other.size) / 2


# --- the sets of variants -------------------------------------------------------------------------------------------

Draw = Callable[[Spec, set[str], Random], OptionSet | None]


def _is_parallel(made: OptionSet, model: OptionSet) -> bool:
    own, other = made.difficulty, model.difficulty
    return own.level == other.level and all(own.features[name] == other.features[name] for name in PARALLEL)


def _lessons(model: OptionSet) -> Draw:
    kinds = tuple({mistake.kind: None for option in model.options for mistake in option.mistakes})

    def draw(varied: Spec, seen: set[str], rng: Random) -> OptionSet | None:
        if fingerprint_of(fold_sheet(varied.sheet, varied.folds), varied.punches) in seen:
            return None
        seed = rng.getrandbits(32)
        for wanted in (kinds, ()):
            try:
                made = make_options(varied, seed, kinds=wanted)
            except GeometryError:
                continue
            if _is_parallel(made, model):
                return made
        return None

    return draw


def _lots(model: OptionSet) -> Draw:
    wishes = _wishes_of(model)

    def draw(varied: Spec, seen: set[str], rng: Random) -> OptionSet | None:
        try:
            one = given(varied)
        except GeometryError:
            return None
        for _ in range(LOTS):
            five = five_around(one, rng, wishes)
            if five is not None and _all_parallel(five, model) and seen.isdisjoint(five.fingerprints):
                return by_lot(five, rng)
        return None

    return draw


def _all_parallel(five: Five, model: OptionSet) -> bool:
    """True when each of the five may stand for the model: all of them, since the lot comes after."""
    features = [difficulty.features for difficulty in five.difficulties]
    own = model.difficulty.features
    return all(found[name] == own[name] for found in features for name in PARALLEL if name != "layers")


def _wishes_of(model: OptionSet) -> Wishes:
    """The model's level, and creases no stranger than its own."""
    folded = fold_sheet(model.spec.sheet, model.spec.folds)
    kinds = {kind_of(crease.line) for crease in folded.creases}
    creases = tuple(kind for kind in CREASES if kind != OBLIQUE or kind in kinds)
    level = model.difficulty.level
    flaps = any(crease.layers is not None for crease in folded.creases)
    return Wishes(creases=creases, difficulty=(level, level), flaps=flaps)


def _none_found(model: OptionSet) -> str:
    if not model.spec.sheet.is_convex:
        return "No parallel question was found: on a sheet with a corner that points inwards, punches are not moved."
    return "No parallel question was found: its punches have no other place with as many layers, clear of every crease."
