"""One press that mends: a punch moved, resized or given another shape, so that the question passes its checks.

A punch that nobody has laid a hand on (it lies as it was put) follows the paper by itself.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from bank.forms.typed import as_given
from bank.forms.workbench import Workbench
from bank.models import Version
from bank.placing import SMALLEST, Ground, Place
from geometry.checks import Check
from geometry.errors import GeometryError, OffPaperError
from geometry.spec import Punch, read_spec
from geometry.words import with_article

Typed = dict[str, str]
TELLING = ("L-piece", "arrow")  # shapes that show how they are turned: more mistakes can be seen with them
NO_OPTIONS = "no options"  # stands among failed checks for paper that cannot be unfolded
CLEARS = ("holes are clear", "holes are legible")
READABLE = Fraction(1, 12)  # of the sheet: a hole of any shape can be read in print


@dataclass(frozen=True)
class Mend:
    """A fault in a sentence; and what one press can do: the button's value and its words, or nothing."""

    says: str
    deed: str = ""
    label: str = ""


def follow(typed: Mapping[str, str], saved: Version | None) -> Workbench:
    """The workbench as typed, but for punches that nobody has placed: where paper left them, they are put anew."""
    bench = Workbench(typed, saved)
    for number in range(len(bench.punches)):
        punch = _punch(bench, number)
        if punch and not _is_placed(bench, number) and (ground := ground_for(bench, number)):
            off_paper = isinstance(bench.paper.error, OffPaperError)
            place = None if ground.holds(punch) else ground.best(punch.size) or ground.widest()
            if place and (off_paper or Fraction(place.size) == punch.size):
                given = as_given(*place, bench.typed.get(f"punch-{number}-turn", ""))
                bench = Workbench(_with(bench, number, **place._asdict(), given=given), saved)
    return bench


def new_punch(bench: Workbench) -> Place | None:
    """Where another punch fits best."""
    ground = ground_for(bench, None)
    return (ground.best(Fraction(1, 6)) or ground.widest()) if ground else None


def mend_for(bench: Workbench, checks: Sequence[Check]) -> Mend | None:
    """What is wrong first of all, and what mends it; ``checks`` are those of its options. None when all is well."""
    if (error := bench.paper.error) is not None:
        off_paper = isinstance(error, OffPaperError)
        return Mend(str(error), f"mend-punch-{error.punch}", "Put it on the paper") if off_paper else Mend(bench.fault)
    failed = {check.name: check for check in checks if not check.ok}
    for name in CLEARS:
        if name in failed:
            return _clear(bench, failed[name])
    if "five options" in failed:
        says = bench.options_say or failed["five options"].says
        can_be = bench.folds and bench.punches
        return Mend(says, f"mend-punch-{_chosen(bench)}", "Try another punch") if can_be else Mend(says)
    return Mend(next(iter(failed.values())).says, "other-options", "Another set of options") if failed else None


def _clear(bench: Workbench, check: Check) -> Mend:
    """What makes room: the punch is made larger or moved, or where there is no room a fold is taken away."""
    number, folds = _culprit(bench, check.place), len(bench.folds)
    if _is_too_small(bench, number, {check.name}):
        return Mend(check.says, f"mend-punch-{number}", "Make it larger")
    ground = ground_for(bench, number)
    if not folds or (ground and ground.best(SMALLEST)):
        return Mend(check.says, f"mend-punch-{number}", "Move it clear")
    says = f"{check.says} Paper folded so small has no room for this punch."
    return Mend(says, f"remove-fold-{folds - 1}", f"Take fold {folds} away")


def mended(bench: Workbench, number: int) -> Typed:
    """The fields with a punch changed so that all checks pass, as little as may be.

    Where no try brings that about the punch is put clear at least, if it was not; else nothing is changed.
    """
    tries = [_with(bench, number, **changes) for changes in _changes(bench, number)]
    for typed in tries:
        if not _failed(Workbench(typed, bench.saved)):
            return typed
    lies_badly = not _failed(bench).isdisjoint({*CLEARS, NO_OPTIONS})
    return tries[0] if tries and lies_badly else dict(bench.typed)


def what_changed(before: Workbench, after: Workbench) -> str:
    """What mending did, in words; or that it found nothing."""
    told = []
    for number, (old, new) in enumerate(zip(_rows(before), _rows(after), strict=True)):
        parts = []
        if new["at"] != old["at"]:
            parts.append(f"moved to {new['at']}")
        if new["size"] != old["size"]:
            parts.append(f"made {_larger_or_smaller(before, after, number)} ({new['size']})")
        if new["shape"] != old["shape"]:
            parts.append(f"changed to {with_article(new['shape'])}")
        if parts:
            told.append(f"Punch {number + 1} was {' and '.join(parts)}.")
    return " ".join(told) or "No other punch was found that mends it: change a fold, or take one away."


def ground_for(bench: Workbench, number: int | None) -> Ground | None:
    """The folded paper and the punches besides the one of this number; None while it cannot be folded as typed."""
    folded = bench.paper.unfolding or bench.paper.as_far
    if folded is None or not bench.is_readable or (bench.paper.error and bench.paper.error.punch is None):
        return None
    others = [_punch(bench, other) for other in range(len(bench.punches)) if other != number]
    return Ground(folded, [punch for punch in others if punch])


def _punch(bench: Workbench, number: int) -> Punch | None:
    """The punch as typed; None where there is none that can be read."""
    if number >= len(bench.punches) or not bench.punches[number].is_valid():
        return None
    alone = {"version": 1, "sheet": {"kind": "square"}, "folds": [], "punches": [bench.punches[number].to_json()]}
    try:
        return read_spec(alone).punches[0]
    except GeometryError:
        return None


def _is_placed(bench: Workbench, number: int) -> bool:
    at, size, turn, given = (bench.typed.get(f"punch-{number}-{name}", "") for name in ("at", "size", "turn", "given"))
    return given != as_given(at, size, turn)


def _culprit(bench: Workbench, place: str) -> int:
    """The punch of the hole that a check names, "hole 3"; the chosen one where several punches ran together."""
    assert bench.paper.unfolding is not None, "there are checks, so there are holes"
    punch = bench.paper.unfolding.holes()[int(place.removeprefix("hole ")) - 1].punch
    return _chosen(bench) if punch is None else punch


def _chosen(bench: Workbench) -> int:
    kind, _, place = bench.step.partition("-")
    return int(place) if kind == "punch" else 0


def _changes(bench: Workbench, number: int) -> Iterator[dict[str, str]]:
    """What to try: the nearest clear place, the best one, then other shapes there; as large as can be read."""
    ground = ground_for(bench, number)
    punch = _punch(bench, number)
    if ground is None or punch is None:
        return
    if _is_too_small(bench, number, _failed(bench)):
        punch = replace(punch, size=READABLE)
        yield {"size": str(READABLE)}
    nearest = ground.nearest(punch) if bench.paper.error is None else None
    best = ground.best(punch.size) or ground.widest()
    for place in (nearest, best):
        if place:
            yield place._asdict()
    for place in (best, nearest):
        for shape in TELLING:
            if place:
                yield place._asdict() | {"shape": shape, "turn": "0"}


def _is_too_small(bench: Workbench, number: int, failed: Container[str]) -> bool:
    """Whether a punch may be what makes holes that cannot be read."""
    punch = _punch(bench, number)
    return "holes are legible" in failed and punch is not None and punch.size < READABLE


def _larger_or_smaller(before: Workbench, after: Workbench, number: int) -> str:
    old, new = _punch(before, number), _punch(after, number)
    return "larger" if old and new and new.size > old.size else "smaller"


def _failed(bench: Workbench) -> set[str]:
    """The names of the checks that fail."""
    if bench.option_set is None:
        return {NO_OPTIONS}
    return {check.name for check in bench.option_set.checks(bench.paper.unfolding) if not check.ok}


def _with(bench: Workbench, number: int, **changes: str) -> Typed:
    return {**bench.typed, **{f"punch-{number}-{name}": value for name, value in changes.items()}}


def _rows(bench: Workbench) -> list[dict[str, str]]:
    names = ("at", "size", "shape")
    return [
        {name: bench.typed.get(f"punch-{number}-{name}", "") for name in names} for number in range(len(bench.punches))
    ]
