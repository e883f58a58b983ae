"""From the parts a teacher gives to a whole question: fold, unfold, find five options.

``compose`` goes as far as it can and says where it stopped: whatever is on its result can be shown.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from bank.models import Version
from bank.tray import Outline
from geometry.errors import FoldError, GeometryError
from geometry.folding import fold_sheet
from geometry.option_sets import OptionSet, make_options
from geometry.spec import Spec, read_spec
from geometry.unfolding import Unfolding, unfold

FoldPart = Callable[[Outline], dict[str, Any]]  # a fold's JSON, once it is known how the paper lies


@dataclass(frozen=True)
class Composition:
    """A question as far as it is made. ``error`` says what stopped it, and names the fold or punch."""

    unfolding: Unfolding | None = None
    option_set: OptionSet | None = None
    error: GeometryError | None = None

    @property
    def spec(self) -> Spec | None:
        return self.unfolding.spec if self.unfolding else None


def compose(
    sheet: dict[str, Any],
    folds: Sequence[FoldPart],
    punches: Sequence[dict[str, Any]],
    *,
    seed: int | None = None,
    saved: Version | None = None,
) -> Composition:
    """Fold, punch and unfold, then make options from ``seed``; without one, keep those ``saved`` with this spec."""
    try:
        spec = _read_parts(sheet, folds, punches)
        unfolding = unfold(spec)
    except GeometryError as error:
        return Composition(error=error)
    try:
        return Composition(unfolding, _options(spec, seed, saved))
    except GeometryError as error:
        return Composition(unfolding, error=error)


def outline_after(sheet: dict[str, Any], folds: Sequence[dict[str, Any]]) -> Outline:
    """Return how the paper lies after ``folds``. Raises a ``GeometryError`` that names the fold in fault."""
    spec = read_spec({"version": 1, "sheet": sheet, "folds": list(folds)})
    return Outline.of(fold_sheet(spec.sheet, spec.folds).states[-1])


def _read_parts(
    sheet: dict[str, Any], folds: Sequence[FoldPart], punches: Sequence[dict[str, Any]]
) -> Spec:
    made: list[dict[str, Any]] = []
    for number, fold in enumerate(folds, 1):
        outline = outline_after(sheet, made)
        try:
            made.append(fold(outline))
        except ValueError as error:
            raise FoldError(f"Fold {number}: {error}", fold=number) from error
    return read_spec({"version": 1, "sheet": sheet, "folds": made, "punches": list(punches)})


def _options(spec: Spec, seed: int | None, saved: Version | None) -> OptionSet:
    if seed is None and saved is not None and saved.spec == spec.to_json():
        return OptionSet.from_json(saved.options)
    return make_options(spec, seed=seed or 1)
