"""From the parts a teacher gives to folded, punched and unfolded paper; its options are arranged in ``arranging``."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import hypot, isfinite
from typing import Any, NamedTuple

from bank.tray import Outline
from geometry.creases import crease_of
from geometry.errors import FoldError, GeometryError
from geometry.folding import fold_sheet
from geometry.spec import Spec, read_spec
from geometry.unfolding import Unfolding, unfold

FoldPart = Callable[[Outline], dict[str, Any]]  # a fold's JSON, once it is known how the paper lies


@dataclass(frozen=True)
class Paper:
    """The paper as far as it can be folded. ``error`` says what stopped it, and names the fold or punch.

    ``unfolding`` is there when all is right; else ``as_far`` holds the folds before the fault, not punched, and
    ``refused`` where the fold in fault would have creased the paper, if it has a crease at all.
    """

    unfolding: Unfolding | None = None
    as_far: Unfolding | None = None
    error: GeometryError | None = None
    refused: Refused | None = None


class Refused(NamedTuple):
    """The crease of a fold that cannot be made: its place among the folds from 0, and the line a x + b y + c = 0."""

    fold: int
    line: tuple[float, float, float]


def fold_paper(sheet: dict[str, Any], folds: Sequence[FoldPart], punches: Sequence[dict[str, Any]]) -> Paper:
    """Fold, punch and unfold; a fault is an answer, not an exception."""
    try:
        return Paper(_unfolded(_read_parts(sheet, folds, punches)))
    except GeometryError as error:
        return Paper(as_far=_as_far(sheet, folds, error), error=error, refused=_refused(sheet, folds, error))


@lru_cache(maxsize=8)
def _unfolded(spec: Spec) -> Unfolding:
    """Kept: a deed about options or tags asks for the same paper again, and what was drawn of it is known by it."""
    return unfold(spec)


def outline_after(sheet: dict[str, Any], folds: Sequence[dict[str, Any]]) -> Outline:
    """Return how the paper lies after ``folds``. Raises a ``GeometryError`` that names the fold in fault."""
    spec = read_spec({"version": 1, "sheet": sheet, "folds": list(folds)})
    return Outline.of(fold_sheet(spec.sheet, spec.folds).states[-1])


def _refused(sheet: dict[str, Any], folds: Sequence[FoldPart], error: GeometryError) -> Refused | None:
    if error.fold is None:
        return None
    try:
        *_, fold = _read_parts(sheet, folds[: error.fold], []).folds
        a, b, c = map(float, crease_of(fold, error.fold).line)
    except (GeometryError, OverflowError):  # two points that are one, say, give no line
        return None
    size = hypot(a, b)
    return Refused(error.fold - 1, (a / size, b / size, c / size)) if size and isfinite(size) else None


def _read_parts(sheet: dict[str, Any], folds: Sequence[FoldPart], punches: Sequence[dict[str, Any]]) -> Spec:
    made: list[dict[str, Any]] = []
    for number, fold in enumerate(folds, 1):
        outline = outline_after(sheet, made)
        try:
            made.append(fold(outline))
        except ValueError as error:
            raise FoldError(f"Fold {number}: {error}", fold=number) from error
    return read_spec({"version": 1, "sheet": sheet, "folds": made, "punches": list(punches)})


def _as_far(sheet: dict[str, Any], folds: Sequence[FoldPart], error: GeometryError) -> Unfolding | None:
    """Return the paper with the folds before the one in fault, or all of them if a punch is, not punched."""
    before = folds if error.fold is None else folds[: error.fold - 1]
    try:
        return unfold(_read_parts(sheet, before, []))
    except GeometryError:
        return None
