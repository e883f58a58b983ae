"""Which mistakes lead from one question to the answer of a sister question.

Sisters differ in a crease, a flap or a punch, so the mistakes to try are few, and their lines and places are known:
those of the sister. What is tried is made by the same faulty openings as any other mistake.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from geometry.creasing import Bend, paper_of
from geometry.flat import Flat, flat_option
from geometry.marks import Key, Mark, unit
from geometry.mistakes import KINDS, Made, made_of, right_states
from geometry.mistakes.copying import copied_from_one_layer, once_more_after, once_more_before
from geometry.mistakes.kind import Ground, Line, Wrong
from geometry.mistakes.lines import direction_name, is_parallel
from geometry.mistakes.placing import wrong_distance, wrong_line
from geometry.mistakes.punching import mirrored_to, put_at, swapped_punches, turned_by
from geometry.openings import Paper, cut_of
from geometry.spec import Punch

Named = tuple[str, Wrong]


@dataclass(frozen=True)
class Plan:
    """A question to be made: its folds as bends, and its punches."""

    bends: tuple[Bend, ...]
    punches: tuple[Punch, ...]


@dataclass(frozen=True, eq=False)
class Sister:
    """A plan folded, punched and truly unfolded. ``states[k]`` holds the marks after the first k folds."""

    plan: Plan
    paper: Paper
    states: list[tuple[Mark, ...]]
    flat: Flat

    @cached_property
    def lines(self) -> tuple[Line, ...]:
        """Its creases as a point and a direction each."""
        return tuple((opening.foot, opening.along) for opening in map(self.paper.opening, self._numbers))

    @property
    def _numbers(self) -> range:
        return range(1, self.paper.count + 1)


def sister_of(plan: Plan) -> Sister | None:
    """The plan worked out; None when paper cannot be folded so, or a hole comes to lie where none may."""
    paper = paper_of(plan.bends)
    if paper is None:
        return None
    punched = paper.settle([mark_of(punch) for punch in plan.punches], paper.count)
    if punched is None:
        return None
    states = right_states(paper, punched)
    flat = flat_option(paper, states[0])
    if flat is None or not any(split.copy for split in paper.opening(1).split(states[1])):
        return None
    return Sister(plan, paper, states, flat)


@lru_cache(maxsize=400)
def mark_of(punch: Punch) -> Mark:
    """A punch as a mark on the folded paper."""
    return Mark(cut_of(punch), complex(*map(float, punch.at)), unit(float(punch.turn)))


def explain(one: Sister, other: Sister, between: Plan) -> tuple[Made, ...] | None:
    """The fewest mistakes, one or two, that make ``other``'s answer out of ``one``; None when no two tried do.

    ``between`` is ``one`` with ``other``'s start, for two mistakes.
    """
    single = _single(one, other)
    if single is not None:
        return (single,)
    for first in _changed_start(one, between):
        states = _states_after(one.paper, first)
        for number in range(1, min(first.folds, first.mistake.fold - 1) + 1):
            second = _opening(one.paper, states[number], number, other)
            if second is not None:
                return (first, second)
    return None


def _single(one: Sister, other: Sister) -> Made | None:
    """One mistake: at the last opening, or, when the target opens rightly there, at an earlier one or the punch."""
    made = _opening(one.paper, one.states[1], 1, other)
    if made is not None or not _opens_rightly(one.paper, other.flat):
        return made
    made = _punching(one, other)
    for number in range(2, one.paper.count + 1):
        made = made or _opening(one.paper, one.states[number], number, other)
    return made


def _opens_rightly(paper: Paper, flat: Flat) -> bool:
    """True when a flat sheet's holes could come from a right opening of fold 1, whatever came before it."""
    if any(crease.layers is not None for crease in paper.folded.creases):
        return True  # a hole may go through some layers only, so the picture alone does not tell
    opening = paper.opening(1)
    staying = [mark._replace(layers=None) for mark in flat.marks if opening.height(mark.at) < 0]
    settled = paper.settle(staying, 1)
    if settled is None:
        return False
    return frozenset(mark.key() for mark in opening.open(settled)) == flat.keys


def _states_after(paper: Paper, made: Made) -> list[tuple[Mark, ...]]:
    """The states that follow a mistake when all later openings are right."""
    states = [made.marks]
    for number in range(made.folds, 0, -1):
        states.append(paper.opening(number).open(states[-1]))
    return states[::-1]


def _opening(paper: Paper, marks: Sequence[Mark], number: int, target: Sister) -> Made | None:
    """One mistake at the opening of a fold that gives the target's answer, the openings after it right."""
    opening = paper.opening(number)
    ground = Ground(paper, opening, opening.split(marks))
    for kind, wrong in _likely(ground, target) if number == 1 else _all(ground, target):
        made = _if_it_gives(target.flat.keys, paper, kind, number, wrong)
        if made is not None:
            return made
    return None


def _all(ground: Ground, target: Sister) -> Iterator[Named]:
    """Every faulty opening to try, particular kinds first, then those in the target's lines."""
    yield from _of_kinds(ground, "one-missed", "carried", "not-opened", "slid", "from-edge", "half-turn")
    yield from _in_lines(ground, target.lines)
    yield from _once_more(ground, target.lines)


def _likely(ground: Ground, target: Sister) -> Iterator[Named]:
    """The faulty openings of fold 1 that have the right number of holes, and keep those that the target keeps."""
    stays = {split.stay.key() for split in ground.splits if split.stay is not None}
    if not stays <= target.flat.keys:
        yield from _of_kinds(ground, "carried")
        return
    added, copies = len(target.flat.keys - stays), len(ground.copied)
    if added < copies:
        yield from _of_kinds(ground, "one-missed", "not-opened")
    elif added == copies:
        yield from _of_kinds(ground, "slid", "from-edge", "half-turn", "not-opened")
    if 0 < added <= copies:
        yield from _in_lines(ground, target.lines)
    elif added > copies:
        yield from _once_more(ground, target.lines)


def _of_kinds(ground: Ground, *kinds: str) -> Iterator[Named]:
    for kind in kinds:
        for wrong in KINDS[kind].faulty(ground):
            yield kind, wrong


def _in_lines(ground: Ground, lines: Sequence[Line]) -> Iterator[Named]:
    """The copies mirrored in one of the lines."""
    opening = ground.opening
    for line in lines if ground.copied else ():
        if not is_parallel(line[1], opening.along):
            yield "wrong-line", wrong_line(ground, direction_name(line[1]), line)
        elif abs(opening.height(line[0])) > 1e-6:
            yield "wrong-distance", wrong_distance(ground, line)


def _once_more(ground: Ground, lines: Sequence[Line]) -> Iterator[Named]:
    """One layer's hole copied, or a fold in one of the lines opened that was never made."""
    for wrong in copied_from_one_layer(ground):
        yield "no-second-layer", wrong
    for line in lines:
        if ground.opening.number == 1:
            yield "no-second-layer", once_more_after(ground, line)
        yield "no-second-layer", once_more_before(ground, line)


def _if_it_gives(target: frozenset[Key], paper: Paper, kind: str, number: int, wrong: Wrong) -> Made | None:
    """The mistake made, if opening the rest rightly gives the target's holes."""
    if wrong.folds == 0 and not _could_be(target, wrong):
        return None
    settled = paper.settle(wrong.marks, wrong.folds, drop=wrong.drop)
    if not settled:
        return None
    final = paper.open_all(settled, wrong.folds)
    if frozenset(mark.key() for mark in final) != target:
        return None
    return made_of(kind, number, wrong, settled)


def _could_be(target: frozenset[Key], wrong: Wrong) -> bool:
    """A quick look at the flat sheet's holes, before it is asked which of them lie on the paper."""
    keys = {mark.key() for mark in wrong.marks}
    return target <= keys if wrong.drop else target == keys


def _punching(one: Sister, other: Sister) -> Made | None:
    """One mistake before any opening that gives the target's answer."""
    if one.plan.bends != other.plan.bends:
        return None
    for made in _changed_start(one, other.plan):
        if frozenset(mark.key() for mark in one.paper.open_all(made.marks, made.folds)) == other.flat.keys:
            return made
    return None


def _changed_start(one: Sister, other: Plan) -> Iterator[Made]:
    """The mistakes that change one's punches, or last crease, into the other's."""
    number = one.paper.count
    opening = one.paper.opening(number)
    ground = Ground(one.paper, opening, opening.split(one.states[number]))
    for kind, wrong in _start_tried(ground, one.plan, other):
        settled = one.paper.settle(wrong.marks, wrong.folds, drop=wrong.drop)
        if settled:
            yield made_of(kind, number, wrong, settled)


def _start_tried(ground: Ground, one: Plan, other: Plan) -> Iterator[Named]:
    changed = [i for i, (p, q) in enumerate(zip(one.punches, other.punches, strict=True)) if p != q]
    if len(changed) == 1:
        yield from _one_punch(ground, mark_of(one.punches[changed[0]]), mark_of(other.punches[changed[0]]))
    elif len(changed) == 2:
        yield from (("swapped", wrong) for wrong in swapped_punches(ground))
    elif one.bends[-1] != other.bends[-1]:
        paper = paper_of(other.bends)
        if paper is not None:
            last = paper.opening(paper.count)
            yield from _in_lines(ground, [(last.foot, last.along)])


def _one_punch(ground: Ground, right: Mark, wrong: Mark) -> Iterator[Named]:
    """One punch moved, turned, or mirrored."""
    place = next(i for i, split in enumerate(ground.splits) if split.hole.key() == right.key())
    hole = ground.splits[place].hole
    if abs(wrong.at - right.at) > 1e-9:
        moved = hole.moved_to(wrong.at)
        yield "wrong-punch", put_at(ground, place, moved)
        yield "wrong-punch", mirrored_to(ground, place, moved._replace(u=wrong.u, flip=wrong.flip))
        return
    for degrees in (180, 90, 270):
        turned = turned_by(ground, place, degrees)
        if turned.marks[place].key() == wrong.key():
            yield "turned-punch", turned
