"""Sets drawn by lot around a given question: five sisters of which the question is one.

A teacher's own question cannot be the key of a set that tells nothing: it was chosen, not drawn. But sisters can be
looked for around it, and one of the five drawn to be asked in its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations
from random import Random

import numpy as np

from geometry.composing import clear_places
from geometry.creasing import DIAGONAL, SQUARE, STRAIGHT, Bend, kind_of, natural_lines, unsigned
from geometry.errors import OptionSetError
from geometry.explaining import Plan, Sister, mark_of, sister_of
from geometry.families import FOUR_COLUMNS, first_creases, five_cells, flaps, parallel, spun
from geometry.fingerprints import fingerprint_of
from geometry.folding import fold_sheet
from geometry.grids import Grid, Row, moved, turned
from geometry.marks import Mark
from geometry.option_sets import OptionSet
from geometry.places import CLEARANCE, FIRSTS, away_from
from geometry.plane import Line, Point
from geometry.shapes import SHAPES
from geometry.sisters import Five, by_lot, five_of
from geometry.spec import Punch, Spec
from geometry.telling_apart import NEAR, NEAR_SIZES
from geometry.wishes import Wishes

TRIES = 150  # proposals after which a question counts as without sisters
PLACES = 12  # places tried for a punch that is moved
TINY = 1e-9
WRONG_SHEET = "Sisters are known for questions on a square sheet only."
ONE_FOLD = "A question drawn by lot needs two folds or more: add a fold."
OWN_OUTLINE = "Sisters are known for the shapes of the list only, not for an outline of one's own."
FLAP_FIRST = "Sisters are known for questions whose first fold takes all layers."
NOT_NATURAL = "Fold 1 has no likely neighbours: make it at a half, third or quarter of the sheet, or in a diagonal."
NOT_CLEAR = "A hole lies across a crease or the rim, or too near it: move the punch away from them."
NOTHING_DOUBLED = "Opening fold 1 copies nothing: put the punch where the paper of fold 1 lies double."
NO_OTHER_CREASE = "No other crease of fold 1 leaves the holes clear: move the punch away from the middle of the paper."
NOT_FOUND = (
    "No five sisters were found that keep the rules: another shape, or a second punch of another shape, may help."
)


@dataclass(frozen=True, eq=False)
class Given:
    """A question with what its sisters share. ``firsts`` maps first creases (places in ``FIRSTS``) that would double
    the same holes as its own to the crease with the side that moves."""

    fingerprint: str
    sister: Sister
    first: int
    firsts: dict[int, Line]

    @property
    def plan(self) -> Plan:
        return self.sister.plan

    @cached_property
    def spun(self) -> list[tuple[int, ...]]:
        """Triples of first creases for the family of half turns, its own among them."""
        triples = spun(unsigned(self.plan.bends[1].line))
        return [t for t in triples if self.first in t and self.firsts.keys() >= set(t)]

    @cached_property
    def fours(self) -> list[tuple[int, ...]]:
        """Two first creases of each of two directions, its own first."""
        pairs = [(i, j) for i, j in combinations(sorted(self.firsts), 2) if parallel(FIRSTS[i], FIRSTS[j])]
        own = [(self.first, *(i for i in pair if i != self.first)) for pair in pairs if self.first in pair]
        others = [pair for pair in pairs if not parallel(FIRSTS[pair[0]], FIRSTS[self.first])]
        return [(*p, *q) for p in own for q in others]

    @cached_property
    def places(self) -> list[Point]:
        """Where a punch goes through as many layers as its first one does, clear of every edge."""
        layers = len(self.sister.states[-1][0].layers or ())
        size = max(float(punch.size) for punch in self.plan.punches)
        return list(clear_places(self.sister.paper, size, layers=layers))


def given(spec: Spec) -> Given:
    """What a question's sisters would share. Raises ``OptionSetError`` with what keeps it from having any."""
    folded = fold_sheet(spec.sheet, spec.folds)
    bends = tuple(Bend(crease.line, crease.layers, crease.way) for crease in folded.creases)
    if spec.sheet != SQUARE:
        raise OptionSetError(WRONG_SHEET)
    if len(bends) < 2:
        raise OptionSetError(ONE_FOLD)
    if any(punch.shape == "outline" for punch in spec.punches):
        raise OptionSetError(OWN_OUTLINE)
    if bends[0].layers is not None:
        raise OptionSetError(FLAP_FIRST)
    if unsigned(bends[0].line) not in FIRSTS:
        raise OptionSetError(NOT_NATURAL)
    sister = sister_of(Plan(bends, spec.punches))
    if sister is None:
        raise OptionSetError(NOT_CLEAR)
    first = FIRSTS.index(unsigned(bends[0].line))
    doubled = [_doubled(line, sister.states[1]) for line in FIRSTS]
    if doubled[first] is None:
        raise OptionSetError(NOT_CLEAR)
    if not any(doubled[first] or ()):
        raise OptionSetError(NOTHING_DOUBLED)
    hole = _point_near(sister.states[1][0].at)
    firsts = {i: away_from(FIRSTS[i], hole) for i, holes in enumerate(doubled) if holes == doubled[first]}
    found = Given(fingerprint_of(folded, spec.punches), sister, first, firsts)
    if not (found.spun or found.fours):
        raise OptionSetError(NO_OTHER_CREASE)
    return found


def _point_near(z: complex) -> Point:
    return Fraction(z.real).limit_denominator(10**6), Fraction(z.imag).limit_denominator(10**6)


def _doubled(line: Line, marks: tuple[Mark, ...]) -> tuple[bool, ...] | None:
    """Which holes a first fold in a line would double, or None when some hole would not be clear of it or the rim."""
    a, b, c = line
    unit = complex(a, b) / (a * a + b * b) ** 0.5
    z = np.array([mark.at for mark in marks])
    radii = np.array([mark.radius for mark in marks])
    heights = (unit.conjugate() * z).real + c / (a * a + b * b) ** 0.5
    reach = radii + CLEARANCE - TINY
    if not (np.all(heights >= reach) or np.all(heights <= -reach)):
        return None
    copies = z - 2 * heights * unit
    depths = np.minimum(np.minimum(copies.real, 1 - copies.real), np.minimum(copies.imag, 1 - copies.imag))
    if not np.all((depths >= reach) | (depths <= TINY - radii)):
        return None
    return tuple((depths >= reach).tolist())


def five_around(one: Given, rng: Random, wishes: Wishes) -> Five | None:
    """Five sisters, the given question among them; None when the draw broke a rule (the caller draws again)."""
    grid = _draw(one, rng, wishes)
    five = five_of(grid, wishes) if grid is not None else None
    return five if five is not None and one.fingerprint in five.fingerprints else None


def _draw(one: Given, rng: Random, wishes: Wishes) -> Grid | None:
    if wishes.flaps and len(one.plan.bends) == 2 and rng.random() < 1 / 2:
        rows = _two_rows(one, rng, (one.first,))
        return flaps(FIRSTS[one.first], rows, five_cells(rng)) if rows is not None else None
    families = [("half-turn", one.spun, five_cells(rng))] * 2 + [("two directions", one.fours, FOUR_COLUMNS)]
    name, choices, cells = rng.choice([family for family in families if family[1]])
    firsts = rng.choice(choices)
    if not all(kind_of(FIRSTS[i]) in wishes.creases for i in firsts):
        return None
    rows = _two_rows(one, rng, firsts)
    return first_creases(name, firsts, rows, cells) if rows is not None else None


# --- another start --------------------------------------------------------------------------------------------------


def _two_rows(one: Given, rng: Random, firsts: tuple[int, ...]) -> tuple[Row, Row] | None:
    """The question below its first crease, and the same begun with one mistake."""
    other = _other_start(one, rng)
    if other is None:
        return None
    paper = one.sister.paper
    marks = paper.settle([mark_of(punch) for punch in other.punches], paper.count)
    if marks is None:
        return None
    if other.bends == one.plan.bends:
        for number in range(paper.count, 1, -1):
            marks = paper.opening(number).open(marks)
        doubled = {_doubled(FIRSTS[i], marks) for i in firsts}
        if len(doubled) > 1 or None in doubled:
            return None
    return _row_of(one.plan), _row_of(other)


def _row_of(plan: Plan) -> Row:
    return Row(plan.punches, tuple(unsigned(bend.line) for bend in plan.bends[1:]))


def _other_start(one: Given, rng: Random) -> Plan | None:
    """A punch moved, turned or swapped, or another last crease."""
    ways = [_move_one, _move_one, _turn_one]
    ways += [_swap_two] * 3 if len({punch.shape for punch in one.plan.punches}) > 1 else []
    ways += [_other_last_crease] if len(one.plan.bends) > 2 else []
    return rng.choice(ways)(one, rng)


def _move_one(one: Given, rng: Random) -> Plan | None:
    """One punch elsewhere, where as many layers lie."""
    i = rng.randrange(len(one.plan.punches))
    punch = one.plan.punches[i]
    others = [mark_of(p) for p in one.plan.punches if p is not punch]
    shift = max(NEAR, NEAR_SIZES * float(punch.size))
    for at in rng.sample(one.places, min(PLACES, len(one.places))):
        z = complex(float(at[0]), float(at[1]))
        free = all(abs(z - other.at) >= punch.size / 2 + other.radius for other in others)
        if free and abs(z - mark_of(punch).at) >= shift:
            return _with(one.plan, i, moved(punch, at))
    return None


def _turn_one(one: Given, rng: Random) -> Plan | None:
    """One punch a quarter or half round."""
    i = rng.randrange(len(one.plan.punches))
    rotations = SHAPES[one.plan.punches[i].shape].rotations
    if rotations > 2:
        return None
    turn = rng.choice((90, 180, 180, 270)) if rotations == 1 else 90
    return _with(one.plan, i, turned(one.plan.punches[i], turn))


def _swap_two(one: Given, rng: Random) -> Plan | None:
    """Two punches of different shapes in each other's places."""
    i, j = rng.sample(range(len(one.plan.punches)), 2)
    first, second = one.plan.punches[i], one.plan.punches[j]
    if first.shape == second.shape:
        return None
    return _with(_with(one.plan, i, moved(second, first.at)), j, moved(first, second.at))


def _other_last_crease(one: Given, rng: Random) -> Plan | None:
    """Another last crease, straight or diagonal."""
    line = rng.choice(natural_lines(rng.choice((STRAIGHT, DIAGONAL))))
    if line == unsigned(one.plan.bends[-1].line):
        return None
    last = Bend(away_from(line, one.plan.punches[0].at))
    return Plan((*one.plan.bends[:-1], last), one.plan.punches)


def _with(plan: Plan, i: int, punch: Punch) -> Plan:
    return Plan(plan.bends, (*plan.punches[:i], punch, *plan.punches[i + 1 :]))


# --- for a teacher's own question -----------------------------------------------------------------------------------


def lot_around(spec: Spec, seed: int = 0) -> OptionSet:
    """A set drawn by lot in which the given question is one of five sisters; ``.spec`` is the one drawn to be asked.

    The same spec and seed give the same set. Raises ``FoldError`` for a spec that cannot be folded, ``OptionSetError``
    with a sentence for one that has no sisters.
    """
    one, rng = given(spec), Random(seed)  # noqa: S311  (a lot, not a secret)
    wishes = Wishes(flaps=any(bend.layers is not None for bend in one.plan.bends))
    for _ in range(TRIES):
        five = five_around(one, rng, wishes)
        if five is not None:
            return by_lot(five, rng)
    raise OptionSetError(NOT_FOUND)
