"""Variants: parallel questions of one question's structure and level, for retests and for papers side by side.

A variant has the folds of its model, turned or mirrored with the sheet; its punches lie elsewhere, through as many
layers, in shapes of like symmetry. Its options are its own: a teaching set offers its model's mistakes where it can; of
a set drawn by lot, all five sisters are varied alike, so that again each could have been the key.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

from geometry.checks import holes_are_clear, holes_are_legible
from geometry.composing import clear_places, layers_at
from geometry.creasing import SQUARE, unsigned
from geometry.errors import GeometryError, OptionSetError
from geometry.explaining import Plan
from geometry.fingerprints import fingerprint_of
from geometry.folding import Folded, fold_sheet
from geometry.grids import Grid, Row, Upper, spec_of
from geometry.openings import Paper
from geometry.option_sets import OptionSet, make_options
from geometry.places import STEPS
from geometry.plane import Line, Motion, Point, reduce_triple
from geometry.shapes import SHAPES
from geometry.sisters import five_of, with_key
from geometry.spec import Punch, Spec
from geometry.turned_specs import exact_symmetries, turned_punch, turned_spec
from geometry.unfolding import unfold
from geometry.wishes import Wishes

PATIENCE = {"teaching": 60, "lot": 600}  # variations without a new question before no more are expected
SHIFT = 5  # steps of the grid of places that a punch is shifted, at most
NO_SISTERS = "This set was stored without its sister questions: only its spec can be varied."
PARALLEL = ("folds", "punches", "layers", "turning", "shapes")  # features that a variant shares with its model
GAP = 1.25  # sizes between the centres of two punches, at least

Made = tuple[Spec, OptionSet]


def variants(
    question: Spec | OptionSet, count: int, seed: int = 0, known: Collection[str] = (), patience: int | None = None
) -> list[Made]:
    """Up to ``count`` parallel questions, none the same question as another, the one given or a ``known`` fingerprint.

    A spec stands for a question with a teaching set. The same question, seed and known ones give the same variants.
    The list is shorter than asked for when no more are found: after ``patience`` variations without a new question,
    else as many as usually suffice. Raises ``OptionSetError`` when there is none, and what ``make_options`` raises for
    a spec that carries no question.
    """
    model = question if isinstance(question, OptionSet) else make_options(question, seed)
    rng = Random(seed)  # noqa: S311  (a lot, not a secret)
    draw = _lots(model) if model.sets == "lot" else _lessons(model)
    seen, found, fruitless = {model.fingerprint, *known}, list[Made](), 0
    while len(found) < count and fruitless < (patience or PATIENCE[model.sets]):
        made = draw(seen, rng)
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

Draw = Callable[[set[str], Random], OptionSet | None]  # given the fingerprints that are taken


def _is_parallel(made: OptionSet, model: OptionSet) -> bool:
    own, other = made.difficulty, model.difficulty
    return own.level == other.level and all(own.features[name] == other.features[name] for name in PARALLEL)


def _lessons(model: OptionSet) -> Draw:
    kinds = tuple({mistake.kind: None for option in model.options for mistake in option.mistakes})

    def draw(seen: set[str], rng: Random) -> OptionSet | None:
        varied = vary(model.spec, rng)
        if varied is None or fingerprint_of(fold_sheet(varied.sheet, varied.folds), varied.punches) in seen:
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
    """The model's whole grid is varied, and the sister in the key's place asked: it was drawn by lot with the model."""
    grid = model.grid
    own = five_of(grid, Wishes()) if grid is not None else None
    if grid is None or own is None:
        raise OptionSetError(NO_SISTERS)
    levels = [difficulty.level for difficulty in own.difficulties]
    key = grid.cells.index(model.option(model.key).cell or (0, 0))

    def draw(seen: set[str], rng: Random) -> OptionSet | None:
        varied = _vary_grid(grid, rng)
        five = five_of(varied, Wishes()) if varied is not None else None
        if five is None or not seen.isdisjoint(five.fingerprints):
            return None
        alike = [difficulty.level for difficulty in five.difficulties] == levels
        return with_key(five, key, rng) if alike and all(_is_clear(sister.plan) for sister in five.sisters) else None

    return draw


def _is_clear(plan: Plan) -> bool:
    unfolding = unfold(spec_of(plan))
    return holes_are_clear(unfolding).ok and holes_are_legible(unfolding).ok


def _vary_grid(grid: Grid, rng: Random) -> Grid | None:
    """A grid turned or mirrored at random, its punches shifted, in like shapes."""
    motion = rng.choice(exact_symmetries(SQUARE))
    shapes = _like_shapes([punch.shape for punch in grid.rows[0].punches], rng)
    exchanged = dict(zip([punch.shape for punch in grid.rows[0].punches], shapes, strict=True))
    places = _shifted({punch.at for row in grid.rows for punch in row.punches}, rng)
    rows = []
    for row in grid.rows:
        punches = [replace(p, shape=exchanged[p.shape], at=places[p.at]) for p in row.punches]
        carried = [turned_punch(punch, motion) for punch in punches]
        if any(punch is None for punch in carried):
            return None
        rows.append(Row(tuple(p for p in carried if p is not None), _carried(row.lines, motion)))
    uppers = tuple(
        Upper(_carried(u.lines, motion), _carried((u.mirror,), motion)[0] if u.mirror else None, u.flap)
        for u in grid.uppers
    )
    return Grid(grid.family, uppers, tuple(rows), grid.cells)


def _carried(lines: Sequence[Line], motion: Motion) -> tuple[Line, ...]:
    """Lines carried along by a motion."""
    back = ~motion
    return tuple(unsigned(reduce_triple(back.pull_back(line))) for line in lines)


def _shifted(places: set[Point], rng: Random) -> dict[Point, Point]:
    """Every place of a punch moved, together or each on its own."""
    together = rng.random() < 1 / 2
    shift = _shift(rng)
    moves = {place: shift if together else _shift(rng) for place in sorted(places)}
    return {place: (place[0] + dx, place[1] + dy) for place, (dx, dy) in moves.items()}


def _shift(rng: Random) -> Point:
    return Fraction(rng.randint(-SHIFT, SHIFT), STEPS), Fraction(rng.randint(-SHIFT, SHIFT), STEPS)


def _none_found(model: OptionSet) -> str:
    if not model.spec.sheet.is_convex:
        return "No parallel question was found: on a sheet with a corner that points inwards, punches are not moved."
    return "No parallel question was found: its punches have no other place with as many layers, clear of every crease."
