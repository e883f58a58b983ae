"""What lies on the mat: the pictures and findings of a composition, ready for a page."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bank.composing import Composition
from bank.reasons import reasons_for
from bank.tray import Outline
from geometry.checks import Check
from geometry.option_sets import Option, OptionSet
from geometry.pictures import Picture, draw_option, draw_stem
from geometry.pictures.frame import MARGIN, WIDTH, frame_of
from geometry.unfolding import Unfolding


@dataclass(frozen=True)
class DrawnOption:
    letter: str
    picture: Picture
    is_key: bool
    says: str

    @classmethod
    def of(cls, option: Option, unfolding: Unfolding, key: str) -> DrawnOption:
        picture = draw_option(unfolding.spec.sheet, option.holes, title=f"Option {option.label}", size="small")
        says = " ".join(mistake.says for mistake in option.mistakes)
        return cls(option.label, picture, option.label == key, says)


@dataclass(frozen=True)
class Scale:
    """How a picture's units lie on the sheet, so that a script can read a click: x = (u - margin) / unit + left."""

    left: float
    top: float
    unit: int = WIDTH
    margin: int = MARGIN


@dataclass(frozen=True)
class Bench:
    stem: tuple[Picture, ...] = ()
    corners: tuple[str, ...] = ()  # by picture of the stem: the paper's corners before that fold, "x,y x,y"
    flat: Picture | None = None
    holes: int = 0
    layers: tuple[int, ...] = ()
    scale: Scale | None = None
    options: tuple[DrawnOption, ...] = ()
    checks: tuple[Check, ...] = ()
    level: int | None = None
    reasons: tuple[str, ...] = ()


def draw_bench(made: Composition) -> Bench:
    """Draw as much of the composition as there is: at a fault, the folds before it."""
    unfolding = made.unfolding or made.as_far
    if unfolding is None:
        return Bench()
    sheet = unfolding.spec.sheet
    regions = [hole.region for hole in unfolding.holes()]
    frame = frame_of(sheet)
    drawn = Bench(
        stem=draw_stem(unfolding),
        corners=tuple(_corners(Outline.of(state)) for state in unfolding.folded.states),
        flat=draw_option(sheet, regions, title="The sheet unfolded") if made.unfolding else None,
        holes=len(regions),
        layers=unfolding.layers,
        scale=Scale(frame.left, frame.top),
    )
    return _with_options(drawn, made.option_set, unfolding) if made.option_set else drawn


def _with_options(drawn: Bench, found: OptionSet, unfolding: Unfolding) -> Bench:
    return replace(
        drawn,
        options=tuple(DrawnOption.of(option, unfolding, found.key) for option in found.options),
        checks=found.checks(),
        level=found.difficulty.level,
        reasons=tuple(reasons_for(found.difficulty.to_json())),
    )


def _corners(outline: Outline) -> str:
    return " ".join(f"{x},{y}" for x, y in sorted(outline.vertices))
