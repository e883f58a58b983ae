"""Sets drawn by lot: every option is the true answer of a sister question, and the key is drawn last of all.

Five sisters are taken only if the rules of a set hold as seen from each of them; then one is drawn to be the question.
Since any of the five could as well have been drawn, the pictures alone say nothing about the key: whoever sees only
them is right one time in five, whatever the strategy. So nothing may be rejected after the lot, and whatever is asked
for (folds, creases, levels, mistakes) must hold for all five before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import permutations
from random import Random

from geometry.difficulty import Difficulty, difficulty_of, stem_features
from geometry.explaining import Sister, explain, sister_of
from geometry.families import carried, flap, half_turn, left_out, two_directions
from geometry.fingerprints import fingerprint_of
from geometry.flat import all_apart
from geometry.grids import Grid, spec_of
from geometry.mistakes import Made, Mistake
from geometry.option_sets import OptionSet, first_wrong_fold, labelled, place_of
from geometry.punching import outline_of
from geometry.wishes import Wishes

FIVE = 5
FEWEST_KINDS = 3
FAMILIES = ((half_turn, 5), (left_out, 4), (carried, 3))  # with how often each is drawn
FLAPS = ((flap, 6),)
WIDE = ((two_directions, 6),)


@dataclass(frozen=True, eq=False)
class Five:
    """Five sisters; ``explained[i, j]`` are the mistakes by which sister i's question leads to sister j's answer."""

    grid: Grid
    sisters: tuple[Sister, ...]
    explained: dict[tuple[int, int], tuple[Made, ...]]

    def mistakes(self, i: int, j: int) -> tuple[Mistake, ...]:
        return tuple(made.mistake for made in self.explained[i, j])

    def seen_from(self, i: int) -> list[tuple[Mistake, ...]]:
        """The mistakes behind the other four, when sister i's answer is the key."""
        return [self.mistakes(i, j) for j in range(FIVE) if j != i]

    @cached_property
    def difficulties(self) -> tuple[Difficulty, ...]:
        return tuple(self._difficulty(i) for i in range(FIVE))

    def _difficulty(self, i: int) -> Difficulty:
        sister = self.sisters[i]
        others = [s.flat for s in self.sisters if s is not sister]
        late = sum(first_wrong_fold(mistakes) == 1 for mistakes in self.seen_from(i))
        return difficulty_of(stem_features(sister.paper, sister.states), sister.flat, others, late)

    @cached_property
    def fingerprints(self) -> tuple[str, ...]:
        return tuple(fingerprint_of(s.paper.folded, s.plan.punches) for s in self.sisters)


def draw_five(rng: Random, wishes: Wishes, *, widened: bool = False) -> Five | None:
    """Five sisters drawn at random, or None when the draw broke a rule (the caller draws again).

    ``widened`` adds a family that almost any wishes allow, with more options of two mistakes.
    """
    families = FAMILIES + (FLAPS if wishes.flaps else ()) + (WIDE if widened else ())
    draw = rng.choices([f for f, _ in families], [weight for _, weight in families])[0]
    grid = draw(rng, wishes)
    return five_of(grid, wishes) if grid is not None else None


def five_of(grid: Grid, wishes: Wishes) -> Five | None:
    """A grid's five sisters, if the rules hold as seen from each of them."""
    sisters: list[Sister] = []
    for cell in grid.cells:
        sister = sister_of(grid.plan(*cell))
        if sister is None:
            return None
        sisters.append(sister)
    if not all_apart([sister.flat for sister in sisters]):
        return None
    explained = _explained(grid, sisters)
    if explained is None:
        return None
    five = Five(grid, tuple(sisters), explained)
    return five if all(rules_hold(five, i, wishes) for i in range(FIVE)) else None


def _explained(grid: Grid, sisters: Sequence[Sister]) -> dict[tuple[int, int], tuple[Made, ...]] | None:
    explained = {}
    for i, j in permutations(range(FIVE), 2):
        upper, start = grid.cells[i][0], grid.cells[j][1]
        between = sisters[i].plan if start == grid.cells[i][1] else grid.plan(upper, start)
        made = explain(sisters[i], sisters[j], between)
        if made is None:
            return None
        explained[i, j] = made
    return explained


def rules_hold(five: Five, i: int, wishes: Wishes) -> bool:
    """True when the set keeps the rules, and what is asked for, with sister i's answer as the key."""
    seen = five.seen_from(i)
    every = [mistake for mistakes in seen for mistake in mistakes]
    kinds = {mistake.kind for mistake in every}
    return (
        len(kinds) >= FEWEST_KINDS
        and len({place_of(mistake) for mistake in every}) >= 2
        and any({place_of(m) for m in mistakes} == {1} for mistakes in seen)
        and any(first_wrong_fold(mistakes) == five.sisters[i].paper.count for mistakes in seen)
        and kinds >= set(wishes.mistakes)
        and wishes.difficulty[0] <= five.difficulties[i].level <= wishes.difficulty[1]
    )


def by_lot(five: Five, rng: Random) -> OptionSet:
    """The set, its key and its order drawn by lot."""
    return with_key(five, rng.randrange(FIVE), rng)


def with_key(five: Five, key: int, rng: Random) -> OptionSet:
    """The set whose key is sister ``key``'s answer, its order drawn by lot."""
    sister = five.sisters[key]
    shown = [
        (s.flat, five.mistakes(key, j) if j != key else (), five.grid.cells[j]) for j, s in enumerate(five.sisters)
    ]
    rng.shuffle(shown)
    spec = spec_of(sister.plan)
    return OptionSet(
        spec=spec,
        sets="lot",
        options=labelled([(flat, mistakes) for flat, mistakes, _ in shown], [cell for *_, cell in shown]),
        difficulty=five.difficulties[key],
        fingerprint=five.fingerprints[key],
        guessability=0.2,
        punches=tuple(tuple((x, y) for x, y in outline_of(p).tolist()) for p in spec.punches),
        grid=five.grid,
    )
