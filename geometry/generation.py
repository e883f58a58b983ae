"""Fresh questions by the thousand: specs drawn at random, each with its option set, no two the same question.

The same wishes and seed give the same questions. When nothing new can be found, that is said, with what was found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from random import Random

from geometry.checks import options_tell_apart
from geometry.composing import compose
from geometry.creasing import CREASES
from geometry.errors import GeometryError, OptionSetError
from geometry.option_sets import OptionSet, make_options
from geometry.shapes import SHAPES
from geometry.sisters import Five, by_lot, draw_five
from geometry.spec import Spec
from geometry.wishes import Wishes

TRIALS = 60  # draws by which a wider wish shows that it would help
PATIENCE = 1500  # draws without a new question before the wishes count as exhausted

Made = tuple[Spec, OptionSet]
Draw = Callable[[Random, int], OptionSet | None]  # given how many draws came to nothing since the last question
LOT, TEACHING = SETS = ("lot", "teaching")
NO_LOT = "Sets drawn by lot need two folds or more; with one fold ask for teaching sets."


def generate(
    *,
    count: int,
    seed: int,
    folds: tuple[int, int] = (2, 3),
    punches: tuple[int, int] = (1, 2),
    creases: Sequence[str] = CREASES,
    shapes: Sequence[str] = tuple(SHAPES),
    flaps: bool = False,
    difficulty: tuple[int, int] = (1, 5),
    mistakes: Sequence[str] = (),
    sets: str = LOT,
) -> Iterator[Made]:
    """``count`` whole questions, distinct by fingerprint, one at a time.

    ``sets`` is "lot" (for tests: the pictures alone tell nothing about the key) or "teaching" (for practice: any
    mistakes, offered equally often). Raises ``OptionSetError`` when the wishes allow no more; its sentence says how
    many were found and what would help.
    """
    wishes = Wishes(folds, punches, tuple(creases), tuple(shapes), flaps, difficulty, tuple(mistakes))
    if sets == LOT and folds[1] < 2:
        raise OptionSetError(NO_LOT)
    seen: set[int] = set()
    draw = _lots(wishes, seen) if sets == LOT else _lessons(wishes, seen, Counter())
    rng = Random(seed)  # noqa: S311  (a lot, not a secret)
    for _ in range(count):
        made = _next(draw, rng, PATIENCE)
        if made is None:
            raise OptionSetError(
                f"No more such questions were found: {len(seen)} of {count} were made. {advice(wishes, sets, seen)}"
            )
        seen.add(_short(made.fingerprint))
        yield made.spec, made


def one_question(
    wishes: Wishes,
    *,
    sets: str,
    seed: int,
    known: Collection[str] = (),
    used: Mapping[str, int] | None = None,
    patience: int = PATIENCE,
) -> OptionSet | None:
    """One whole question, or None when ``patience`` draws found none: for whoever makes many, one at a time.

    ``known`` are fingerprints of questions not to be asked again; ``used`` counts the mistakes offered so far, so that
    a teaching set takes the rarest. The same wishes, seed and known questions give the same one.
    """
    seen = {_short(fingerprint) for fingerprint in known}
    draw = _lots(wishes, seen) if sets == LOT else _lessons(wishes, seen, Counter(used or {}))
    return _next(draw, Random(seed), patience)  # noqa: S311  (a lot, not a secret)


def _next(draw: Draw, rng: Random, patience: int) -> OptionSet | None:
    """The next question, or None when patience ends."""
    for fruitless in range(patience):
        made = draw(rng, fruitless)
        if made is not None:
            return made
    return None


def _lots(wishes: Wishes, seen: set[int]) -> Draw:
    def draw(rng: Random, fruitless: int) -> OptionSet | None:
        five = draw_five(rng, wishes, widened=fruitless >= WIDENED)
        return by_lot(five, rng) if five is not None and _is_new(five, seen) else None

    return draw


WIDENED = 60  # fruitless draws after which every family is tried


def _is_new(five: Five, seen: set[int]) -> bool:
    """True when none of the five was asked before: all of them, since a look at the key alone would spoil the lot."""
    return not any(_short(fingerprint) in seen for fingerprint in five.fingerprints)


def _lessons(wishes: Wishes, seen: set[int], used: Counter[str]) -> Draw:
    def draw(rng: Random, fruitless: int) -> OptionSet | None:
        spec = compose(rng, wishes)
        if spec is None:
            return None
        try:
            made = make_options(spec, rng.getrandbits(32), kinds=wishes.mistakes, used=used)
        except GeometryError:
            return None
        low, high = wishes.difficulty
        if not low <= made.difficulty.level <= high or _short(made.fingerprint) in seen:
            return None
        kinds = [mistake.kind for option in made.options for mistake in option.mistakes]
        if not set(wishes.mistakes) <= set(kinds) or not options_tell_apart(made).ok:
            return None
        used.update(kinds)
        return made

    return draw


def _short(fingerprint: str) -> int:
    """Enough of a fingerprint to tell millions of questions apart, kept small."""
    return int(fingerprint[:15], 16)


def advice(wishes: Wishes, sets: str, seen: Collection[int] = ()) -> str:
    """What would help where no such question is found: each wish is widened in turn, and a new question looked for."""
    wider = _wider(wishes, sets)
    helpful = [words for words, wished in wider.items() if _some(wished, sets, set(seen))]
    named = helpful[:3] or list(wider)[:3]
    together = " or ".join(named) if helpful else f"{', '.join(named[:-1])} and {named[-1]} together"
    return f"It would help to allow {together}."


def _wider(wishes: Wishes, sets: str) -> dict[str, Wishes]:
    """The wishes with one of them widened, by what that is called."""
    (fewest, most), (least, greatest) = wishes.folds, wishes.punches
    any_mistake = "fewer mistakes at once" if sets == TEACHING else "teaching sets, which can offer any mistake"
    widened = {
        "more levels": replace(wishes, difficulty=(1, 5)),
        any_mistake: replace(wishes, mistakes=()),
        "more shapes": replace(wishes, shapes=tuple(SHAPES)),
        "more kinds of crease": replace(wishes, creases=CREASES),
        "fewer folds": replace(wishes, folds=(max(fewest - 1, 1 if sets == TEACHING else 2), most)),
        "more folds": replace(wishes, folds=(fewest, most + 1)),
        "more punches": replace(wishes, punches=(least, greatest + 1)),
    }
    return {words: wished for words, wished in widened.items() if wished != wishes}


def _some(wishes: Wishes, sets: str, seen: set[int]) -> bool:
    """True when a few draws, of every family, find a new question."""
    draw = _lots(wishes, seen) if sets == LOT else _lessons(wishes, seen, Counter())
    rng = Random(0)  # noqa: S311  (a lot, not a secret)
    return any(draw(rng, WIDENED * (trial % 2)) is not None for trial in range(TRIALS))
