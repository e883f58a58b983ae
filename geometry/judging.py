"""An option set that came from elsewhere, worked out anew from its spec: what the spec can tell is not believed.

The key is found by unfolding. A wrong picture that a mistake known here makes is explained anew; one that none makes in
a single step keeps the explanation it came with. Difficulty, fingerprint and guessability are worked out again. Whether
a set was drawn by lot cannot be seen in it, so it counts as a teaching set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from geometry.checks import one_right_answer
from geometry.difficulty import difficulty_of, stem_features
from geometry.errors import OptionSetError
from geometry.fingerprints import fingerprint_of
from geometry.flat import flat_option
from geometry.guessing import Look, guessability
from geometry.handmade import own_mistake
from geometry.marks import tidied
from geometry.mistakes import KINDS, OWN, faulty_openings
from geometry.option_sets import LABELS, Option, OptionSet, outlines_of
from geometry.spec import Sheet, Spec
from geometry.teaching import Candidate, Workings, work_out
from geometry.unfolding import unfold

MOST_HOLES = 300
EXPLAINED = 64  # holes: with more, trying every mistake on them takes longer than a question is worth
OFF_RIM = 1e-6  # sheet widths by which a rounded hole may stand over the rim

Picture = tuple[bytes, ...]


@dataclass(frozen=True)
class Shown:
    """A picture as it is compared with others: each hole is its own key."""

    marks: tuple[bytes, ...]

    @property
    def keys(self) -> frozenset[bytes]:
        return frozenset(self.marks)


def judge(spec: Spec, options: Sequence[Option]) -> OptionSet:
    """The set of these options, all else worked out anew.

    Raises ``FoldError`` or ``PunchError`` for a spec that cannot be made, ``OptionSetError`` for options that are not
    one right answer and wrong ones.
    """
    if not spec.folds or not spec.punches:
        raise OptionSetError("A question needs at least one fold and one punch.")
    unfolding = unfold(spec)
    if sum(unfolding.layers) > MOST_HOLES:
        raise OptionSetError(f"The sheet would show {sum(unfolding.layers):,} holes; {MOST_HOLES} can be.")
    _refuse_misplaced(options, len(spec.folds))
    _refuse_misdrawn(options, spec.sheet)
    workings = work_out(unfolding)
    judged = _set_of(workings, _explained(workings, options))
    right = one_right_answer(replace(judged, options=tuple(options)), unfolding)
    if not right.ok:
        raise OptionSetError(right.says)
    return judged


def _explained(workings: Workings, options: Sequence[Option]) -> list[Option]:
    """The options drawn and explained by us as far as we can.

    What an option says of itself is tried first: making that one mistake is much less work than making them all.
    """
    if len(workings.key.marks) > EXPLAINED:
        return [_anew(option, workings, None) for option in options]
    known = [_as_claimed(workings, option) for option in options]
    if all(known[i] or not o.mistakes or _is_own(o) for i, o in enumerate(options)):
        return [_anew(option, workings, one) for option, one in zip(options, known, strict=True)]
    every = {_picture(c.flat.regions): c for c in workings.candidates()}
    return [
        _anew(option, workings, one or every.get(_picture(option.holes)))
        for option, one in zip(options, known, strict=True)
    ]


def _as_claimed(workings: Workings, option: Option) -> Candidate | None:
    """The option's picture, if the one mistake that it says it stands for makes it."""
    if len(option.mistakes) != 1 or option.mistakes[0].kind not in KINDS:
        return None
    paper, picture, claim = workings.paper, _picture(option.holes), option.mistakes[0]
    middles = sum(at for at, _ in _look(option).holes)
    for made in faulty_openings(paper, workings.states[claim.fold], claim.fold, (claim.kind,)):
        flat = flat_option(paper, paper.open_all(made.marks, made.folds), workings.key.keys)
        if flat is None or len(flat.marks) != len(option.holes):
            continue
        if abs(sum(mark.middle for mark in flat.marks) - middles) > OFF_RIM:  # plainly another picture
            continue
        if _picture(flat.regions) == picture and flat.is_apart_from(workings.key):
            return Candidate(flat, (made.mistake,))
    return None


def _set_of(workings: Workings, options: Sequence[Option]) -> OptionSet:
    """Options with what follows from them."""
    spec = workings.unfolding.spec
    place = next(i for i, option in enumerate(options) if not option.mistakes)
    shown = [Shown(_picture(option.holes)) for option in options]
    others = [one for i, one in enumerate(shown) if i != place]
    late = sum(option.first_wrong_fold == 1 for option in options)
    return OptionSet(
        spec=spec,
        sets="teaching",
        options=tuple(options),
        difficulty=difficulty_of(stem_features(workings.paper, workings.states), shown[place], others, late),
        fingerprint=fingerprint_of(workings.unfolding.folded, spec.punches),
        guessability=guessability([_look(option) for option in options], place),
        punches=outlines_of(workings.unfolding),
    )


def _anew(option: Option, workings: Workings, known: Candidate | None) -> Option:
    """The option drawn by us, and explained as by the picture that is ``known`` to be its own."""
    if not option.mistakes:
        return Option(option.label, workings.key.regions, ())
    if _is_own(option):  # what is made by hand stays called so
        return Option(option.label, tidied(option.holes), (own_mistake(workings.unfolding, option.holes),))
    if known is not None:
        return Option(option.label, known.flat.regions, known.mistakes)
    return Option(option.label, tidied(option.holes), option.mistakes)


def _is_own(option: Option) -> bool:
    return any(mistake.kind == OWN for mistake in option.mistakes)


def _refuse_misplaced(options: Sequence[Option], folds: int) -> None:
    """Letters in order, one key, and mistakes that are known here, at folds that there are. Drafts may want options."""
    if [option.label for option in options] != list(LABELS[: len(options)]):
        raise OptionSetError("The options must be A, B, C, D and E, in this order.")
    keys = [option.label for option in options if not option.mistakes]
    if len(keys) != 1:
        raise OptionSetError("One option, the key, has no mistake; each of the others has one or two.")
    for option in options:
        if len(option.mistakes) > 2:
            raise OptionSetError(f"Option {option.label} has more than two mistakes.")
        for mistake in option.mistakes:
            if mistake.kind not in (*KINDS, OWN):
                raise OptionSetError(f"Option {option.label}: “{mistake.kind[:40]}” is no mistake that is known here.")
            if not 1 <= mistake.fold <= folds:
                raise OptionSetError(f"Option {option.label}: a mistake at fold {mistake.fold}, which is not there.")


def _refuse_misdrawn(options: Sequence[Option], sheet: Sheet) -> None:
    """Holes that are sound polygons, on the sheet."""
    paper = shapely.Polygon([(float(x / w), float(y / w)) for x, y, w in sheet.outline]).buffer(OFF_RIM)
    for option in options:
        if not 1 <= len(option.holes) <= MOST_HOLES:
            raise OptionSetError(f"Option {option.label} shows {len(option.holes):,} holes; 1 to {MOST_HOLES} can be.")
        for number, hole in enumerate(option.holes, 1):
            if not hole.is_valid or not hole.area:
                raise OptionSetError(f"Option {option.label}, hole {number}: its outline crosses itself.")
            if not paper.covers(hole):
                raise OptionSetError(f"Option {option.label}, hole {number} is not on the sheet.")


def _picture(holes: Sequence[shapely.Polygon]) -> Picture:
    """What a picture shows, in a form that is equal for equal pictures."""
    return tuple(hole.wkb for hole in tidied(holes))


def _look(option: Option) -> Look:
    return Look(tuple((complex(c.x, c.y), hole.area) for hole in option.holes for c in (hole.centroid,)))
