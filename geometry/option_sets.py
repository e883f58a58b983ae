"""Option sets: five pictures, one of them right, each of the others standing for one or two nameable mistakes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from geometry.difficulty import Difficulty
from geometry.flat import Flat
from geometry.grids import Cell, Grid
from geometry.mistakes import Mistake
from geometry.spec import Spec, read_spec
from geometry.unfolding import Unfolding, unfold

if TYPE_CHECKING:
    from geometry.checks import Check

LABELS = "ABCDE"
PUNCH = "punch"  # the place of a mistake made before any opening


@dataclass(frozen=True)
class Option:
    """One of the five pictures.

    ``holes`` are polygons of the flat sheet, in an order that depends on the picture alone. ``mistakes`` is empty for
    the key alone; ``first_wrong_fold`` the highest number of a fold whose opening went wrong (openings run downwards).
    In a set drawn by lot, ``cell`` is the place in the set's grid of the sister question of which this is the answer.
    """

    label: str
    holes: tuple[shapely.Polygon, ...]
    mistakes: tuple[Mistake, ...]
    cell: Cell | None = None

    @property
    def first_wrong_fold(self) -> int | None:
        return first_wrong_fold(self.mistakes)

    def to_json(self) -> dict[str, Any]:
        return {
            "label": self.label,
            "holes": [write_hole(hole) for hole in self.holes],
            "mistakes": [mistake.to_json() for mistake in self.mistakes],
            "first_wrong_fold": self.first_wrong_fold,
        } | ({"cell": list(self.cell)} if self.cell else {})

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Option:
        holes = tuple(shapely.Polygon(h["outline"], h.get("inner", [])) for h in data["holes"])
        cell = (data["cell"][0], data["cell"][1]) if data.get("cell") else None
        return cls(data["label"], holes, tuple(Mistake.from_json(m) for m in data["mistakes"]), cell)


@dataclass(frozen=True)
class OptionSet:
    """The five options of a spec.

    ``sets`` is "lot" when every option could as well have been the key, else "teaching". ``guessability`` is how often
    strategies that see only the pictures pick the key, on average (chance is 0.2). ``grid`` holds the sister questions
    of a set drawn by lot.
    """

    spec: Spec
    sets: str
    options: tuple[Option, ...]
    difficulty: Difficulty
    fingerprint: str
    guessability: float | None
    punches: tuple[tuple[tuple[float, float], ...], ...] = field(repr=False, default=())
    grid: Grid | None = field(repr=False, default=None)

    @property
    def key(self) -> str:
        """The label of the right option."""
        return next(option.label for option in self.options if not option.mistakes)

    def option(self, label: str) -> Option:
        """The option with a label."""
        return next(option for option in self.options if option.label == label)

    def sister(self, label: str) -> Spec | None:
        """The question of which an option is the true answer; None in a set that was not drawn by lot."""
        cell = self.option(label).cell
        return self.grid.spec(cell) if self.grid is not None and cell is not None else None

    def checks(self, unfolding: Unfolding | None = None) -> tuple[Check, ...]:
        """What must hold of a set, worked out anew from the pictures and the spec (its unfolding, if it is known)."""
        from geometry.checks import check_set  # checks read option sets, so not the other way round at import

        return check_set(self, unfolding)

    def to_json(self) -> dict[str, Any]:
        """The set as JSON: reading it gives an equal set."""
        return {
            "sets": self.sets,
            "key": self.key,
            "options": [option.to_json() for option in self.options],
            "spec": self.spec.to_json(),
            "punches": [[list(point) for point in outline] for outline in self.punches],
            "difficulty": self.difficulty.to_json(),
            "fingerprint": self.fingerprint,
            "guessability": self.guessability,
        } | ({"grid": self.grid.to_json()} if self.grid is not None else {})

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> OptionSet:
        """The set that ``to_json`` wrote."""
        options = tuple(Option.from_json(o) for o in data["options"])
        cells = [option.cell for option in options if option.cell is not None]
        return cls(
            spec=read_spec(data["spec"]),
            sets=data["sets"],
            options=options,
            difficulty=Difficulty.from_json(data["difficulty"]),
            fingerprint=data["fingerprint"],
            guessability=data["guessability"],
            punches=tuple(tuple((p[0], p[1]) for p in outline) for outline in data["punches"]),
            grid=Grid.from_json(data["grid"], cells) if data.get("grid") else None,
        )


def write_hole(hole: shapely.Polygon) -> dict[str, Any]:
    """A hole as JSON: its outline, and the rings of paper left inside it, where there are any."""
    inner = [_points(ring) for ring in hole.interiors]
    return {"outline": _points(hole.exterior)} | ({"inner": inner} if inner else {})


def _points(ring: shapely.LinearRing) -> list[list[float]]:
    return np.asarray(ring.coords)[:-1].tolist()


def first_wrong_fold(mistakes: Sequence[Mistake]) -> int | None:
    """The highest number of a fold whose opening went wrong."""
    return max((mistake.fold for mistake in mistakes), default=None)


def place_of(mistake: Mistake) -> int | str:
    """The fold a mistake belongs to, or ``PUNCH`` for one made before any opening."""
    return PUNCH if mistake.before else mistake.fold


def make_options(
    spec: Spec, seed: int = 0, *, kinds: Sequence[str] = (), used: Mapping[str, int] | None = None
) -> OptionSet:
    """A teaching set for a spec: one key, four wrong options, labels by lot.

    ``kinds`` are mistakes that the set must offer; ``used`` counts how often each kind was offered before, so that the
    rarest come first. The same spec, seed and counts give the same set. Raises ``FoldError`` or ``PunchError`` for a
    spec that cannot be made, ``OptionSetError`` for one that cannot carry five options.
    """
    from geometry.teaching import choose  # teaching sets are made of options, so not the other way round at import

    return choose(unfold(spec), Random(seed), kinds=kinds, used=used or {})  # noqa: S311  (a lot, not a secret)


def labelled(
    pictures: Sequence[tuple[Flat, tuple[Mistake, ...]]], cells: Sequence[Cell | None] = (None,) * len(LABELS)
) -> tuple[Option, ...]:
    """Pictures with their mistakes (and cells) as options A, B, ... in the order given."""
    shown = zip(LABELS, pictures, cells, strict=False)
    return tuple(Option(label, flat.regions, made, cell) for label, (flat, made), cell in shown)


def relabelled(options: OptionSet, rng: Random) -> OptionSet:
    """The same pictures, their letters drawn by lot anew."""
    order = list(options.options)
    rng.shuffle(order)
    lettered = tuple(replace(option, label=label) for label, option in zip(LABELS, order, strict=False))
    return replace(options, options=lettered)


def outlines_of(unfolding: Unfolding) -> tuple[tuple[tuple[float, float], ...], ...]:
    """The punches' outlines in the folded plane, as points."""
    return tuple(tuple((x, y) for x, y in outline.tolist()) for outline in unfolding.outlines)
