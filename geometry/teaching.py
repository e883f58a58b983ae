"""Teaching sets: for a teacher's own spec, four wrong options that each stand for a mistake.

All faulty pictures of the spec are made; sets are drawn at random and held against the rules (``SetRules``); among the
sets that pass, the one is taken whose key stands among the five as some option drawn at random does, so that the key is
less often the most symmetric, or the likest to the rest, than it would be by nature.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from geometry.difficulty import difficulty_of, stem_features
from geometry.errors import OptionSetError
from geometry.fingerprints import fingerprint_of
from geometry.flat import Flat, flat_key, flat_option, lie_over_one_another
from geometry.guessing import Look, guessability, look_at, profile
from geometry.marks import Key, Mark
from geometry.mistakes import KINDS, Made, Mistake, faulty_openings, right_states
from geometry.openings import Paper, punched
from geometry.option_sets import (
    LABELS,
    OptionSet,
    first_wrong_fold,
    labelled,
    outlines_of,
    place_of,
)
from geometry.unfolding import Unfolding

DISTRACTORS = len(LABELS) - 1
FEWEST_KINDS = 3
LARGE = 1 / 4  # sheet widths: a hole larger than this finds hardly another place
DRAWS = 400  # sets drawn before the search gives up
WANTED = 24  # sets that pass, from which one is chosen


@dataclass(frozen=True, eq=False)
class Candidate:
    """A wrong picture and the mistakes that make it, last opening first."""

    flat: Flat
    mistakes: tuple[Mistake, ...]

    @property
    def kinds(self) -> frozenset[str]:
        return frozenset(mistake.kind for mistake in self.mistakes)

    @property
    def places(self) -> frozenset[int | str]:
        return frozenset(place_of(mistake) for mistake in self.mistakes)


@dataclass(eq=False)
class Workings:
    """A spec opened rightly, and every faulty picture of it that differs visibly from the right one."""

    unfolding: Unfolding
    paper: Paper
    states: list[tuple[Mark, ...]]
    key: Flat
    _apart: dict[tuple[int, int], bool] = field(default_factory=dict)
    _known: dict[bool, list[Candidate]] = field(default_factory=dict)

    def candidates(self, *, doubles: bool = False) -> list[Candidate]:
        """One candidate for each picture, explained by the fewest mistakes."""
        if doubles not in self._known:
            self._known[doubles] = self._find(doubles=doubles)
        return self._known[doubles]

    def _find(self, *, doubles: bool) -> list[Candidate]:
        found: dict[frozenset[Key], Candidate] = {}
        for mistakes, made in self._made(doubles=doubles):
            marks = self.paper.open_all(made.marks, made.folds)
            flat = flat_option(self.paper, marks, self.key.keys)
            if flat is not None and flat.keys not in found and flat.is_apart_from(self.key):
                found[flat.keys] = Candidate(flat, mistakes)
        return list(found.values())

    def _made(self, *, doubles: bool) -> Iterator[tuple[tuple[Mistake, ...], Made]]:
        singles = []
        for number in range(self.paper.count, 0, -1):
            for made in faulty_openings(self.paper, self.states[number], number):
                singles.append(made)
                yield (made.mistake,), made
        if doubles:
            for first in singles:
                for second in self._after(first):
                    yield (first.mistake, second.mistake), second

    def _after(self, first: Made) -> Iterator[Made]:
        """The mistakes that can follow another, at a later opening."""
        marks = first.marks
        for number in range(first.folds, 0, -1):
            if number < first.mistake.fold:
                yield from faulty_openings(self.paper, marks, number)
            marks = self.paper.opening(number).open(marks)

    def are_apart(self, one: Candidate, other: Candidate) -> bool:
        pair = (id(one), id(other))
        if pair not in self._apart:
            self._apart[pair] = self._apart[pair[::-1]] = one.flat.is_apart_from(other.flat)
        return self._apart[pair]


def work_out(unfolding: Unfolding) -> Workings:
    """A spec opened rightly, as marks."""
    paper = Paper(unfolding.folded)
    states = right_states(paper, punched(unfolding))
    return Workings(unfolding, paper, states, flat_key(states[0]))


def choose(
    unfolding: Unfolding, rng: Random, *, kinds: Sequence[str] = (), used: Mapping[str, int] | None = None
) -> OptionSet:
    """A teaching set for an unfolded spec. Raises ``OptionSetError`` when the rules cannot be met."""
    return choose_from(work_out(unfolding), rng, kinds=kinds, used=used)


def choose_from(
    workings: Workings, rng: Random, *, kinds: Sequence[str] = (), used: Mapping[str, int] | None = None
) -> OptionSet:
    """The same for a spec that is opened already."""
    if not workings.unfolding.spec.folds:
        raise OptionSetError("A question needs at least one fold: without one there is nothing to open.")
    for doubles in (False, True):
        candidates = workings.candidates(doubles=doubles)
        if not kinds_of(candidates) >= set(kinds):
            break  # what no single mistake shows, two at once do not make plainer
        drawn = draw(workings, candidates, rng, kinds=kinds, used=used)
        if drawn:
            five = [(workings.key, ()), *((c.flat, c.mistakes) for c in drawn)]
            rng.shuffle(five)
            return set_of(workings, five)
    raise OptionSetError(why_not(workings, candidates, kinds))


def draw(
    workings: Workings,
    candidates: Sequence[Candidate],
    rng: Random,
    *,
    held: Sequence[Candidate] = (),
    kinds: Sequence[str] = (),
    used: Mapping[str, int] | None = None,
) -> tuple[Candidate, ...]:
    """Four wrong pictures that keep the rules, ``held`` first; none when no draw of the others keeps them."""
    sets = list(_passing(workings, candidates, rng, held, kinds, used or {}))
    return _least_telling(workings.key, sets, rng) if sets else ()


def _passing(
    workings: Workings,
    candidates: Sequence[Candidate],
    rng: Random,
    held: Sequence[Candidate],
    kinds: Sequence[str],
    used: Mapping[str, int],
) -> Iterator[tuple[Candidate, ...]]:
    """Up to ``WANTED`` sets that pass the rules, drawn so that rarely used kinds come first."""
    found = 0
    by_kind: dict[str, list[Candidate]] = {}
    for candidate in candidates:
        by_kind.setdefault(candidate.mistakes[-1].kind, []).append(candidate)
    for _ in range(DRAWS):
        drawn = (*held, *_draw(by_kind, rng, DISTRACTORS - len(held), kinds, used))
        if len(drawn) == DISTRACTORS and kinds_of(drawn) >= set(kinds) and rule_broken(workings, drawn) is None:
            yield drawn
            found += 1
            if found == WANTED:
                return


def _draw(
    by_kind: Mapping[str, list[Candidate]], rng: Random, count: int, kinds: Sequence[str], used: Mapping[str, int]
) -> tuple[Candidate, ...]:
    """So many candidates, of as many kinds as there are, wanted kinds first, then rare ones."""
    order = sorted(by_kind, key=lambda kind: (kind not in kinds, used.get(kind, 0) + rng.random() * 2))
    drawn: list[Candidate] = []
    while len(drawn) < count and order:
        for kind in list(order)[: count - len(drawn)]:
            left = [c for c in by_kind[kind] if c not in drawn]
            if left:
                drawn.append(rng.choice(left))
            else:
                order.remove(kind)
    return tuple(drawn)


def kinds_of(candidates: Iterable[Candidate]) -> set[str]:
    """The kinds of mistake that pictures stand for."""
    return {kind for candidate in candidates for kind in candidate.kinds}


def rule_broken(workings: Workings, drawn: Sequence[Candidate]) -> str | None:
    """The first rule of a set that four candidates break, or None."""
    count = workings.paper.count
    if len(kinds_of(drawn)) < FEWEST_KINDS:
        return "kinds"
    if len({place for c in drawn for place in c.places}) < 2:
        return "folds"
    if not any(c.places == {1} for c in drawn):
        return "first fold"
    if not any(first_wrong_fold(c.mistakes) == count for c in drawn):
        return "last fold"
    if not all(workings.are_apart(p, q) for i, p in enumerate(drawn) for q in drawn[:i]):
        return "apart"
    return None


def _least_telling(key: Flat, sets: Sequence[tuple[Candidate, ...]], rng: Random) -> tuple[Candidate, ...]:
    """The set whose key stands among the five most as an option drawn at random does."""
    seen = {c: look_at(c.flat) for drawn in sets for c in drawn}
    own = look_at(key)
    looks = [(own, *(seen[c] for c in drawn)) for drawn in sets]
    target = profile(looks[rng.randrange(len(sets))], rng.randrange(len(LABELS)))
    distances = [sum(abs(a - b) for a, b in zip(profile(five, 0), target, strict=True)) for five in looks]
    return sets[distances.index(min(distances))]


def set_of(workings: Workings, shown: Sequence[tuple[Flat, tuple[Mistake, ...]]]) -> OptionSet:
    """The option set of these pictures, A first. The one without mistakes is the key.

    A whole set has five; a set being made by hand may have fewer, and then nothing is known of guessing.
    """
    wrong = [(flat, mistakes) for flat, mistakes in shown if mistakes]
    looks: list[Look] = [look_at(flat) for flat, _ in shown]
    key = next(place for place, (_, mistakes) in enumerate(shown) if not mistakes)
    late = sum(first_wrong_fold(mistakes) == 1 for _, mistakes in wrong)
    stem = stem_features(workings.paper, workings.states)
    return OptionSet(
        spec=workings.unfolding.spec,
        sets="teaching",
        options=labelled(shown),
        difficulty=difficulty_of(stem, workings.key, [flat for flat, _ in wrong], late),
        fingerprint=fingerprint_of(workings.unfolding.folded, workings.unfolding.spec.punches),
        guessability=guessability(looks, key) if len(shown) == len(LABELS) else None,
        punches=outlines_of(workings.unfolding),
    )


def why_not(workings: Workings, candidates: Sequence[Candidate], kinds: Sequence[str]) -> str:
    """Which rule a spec cannot meet, and what would help."""
    if not workings.unfolding.spec.punches:
        return "A question needs at least one hole: add a punch."
    found = kinds_of(candidates)
    missing = [kind for kind in kinds if kind not in found]
    if missing:
        kind = KINDS[missing[0]]
        return f"“{kind.label}” cannot be shown here: it needs {kind.needs}."
    if len(candidates) < DISTRACTORS:
        return f"{_so_few(len(candidates))} {_advice(workings)}"
    if len(found) < FEWEST_KINDS:
        kinds_found = "one kind" if len(found) == 1 else f"{len(found)} kinds"
        return f"The wrong pictures stand for {kinds_found} of mistake; three are needed. {_advice(workings)}"
    if not any(c.places == {1} for c in candidates):
        return f"No mistake at the opening of fold 1 alone can be seen. {_advice(workings)}"
    if not any(first_wrong_fold(c.mistakes) == workings.paper.count for c in candidates):
        return f"No mistake at the opening of the last fold, or at the punch, can be seen. {_advice(workings)}"
    if kinds:
        named = " and ".join(f"“{KINDS[kind].label}”" for kind in kinds)
        return f"No set that offers {named} keeps the rules here: ask for fewer kinds at once, or for another."
    return f"No four of the {len(candidates)} wrong pictures tell apart from each other. {_advice(workings)}"


def _so_few(count: int) -> str:
    if count == 0:
        return "No wrong picture differs visibly from the right one; four are needed."
    pictures = "one wrong picture differs" if count == 1 else f"{count} wrong pictures differ"
    return f"Only {pictures} visibly from the right one; four are needed."


def _advice(workings: Workings) -> str:
    """What would help most."""
    marks = workings.states[-1]
    if lie_over_one_another(workings.states[0]):
        return "Put the punches apart: no wrong picture may show holes that run into one another."
    if any(not mark.cut.whole for mark in marks):
        return "Move the punch off the crease and away from the rim."
    if len(workings.key.marks) < 2:
        return "Put the punch where more layers lie."
    if any(mark.cut.size > LARGE for mark in marks):
        return "Make the hole smaller, so that there is room for it in other places."
    if all(mark.cut.size < 0.1 for mark in marks):
        return "Make the hole larger: its turning shows from a tenth of the sheet on."
    if all(mark.cut.mirror is not None for mark in marks):
        return "Use a shape that is not its own mirror image, or a second punch of another shape."
    return "Add a fold, or move the punch away from the middle of the folded paper."
