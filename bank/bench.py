"""What lies on the mat and under it: pictures of the paper, and what was found of its options."""

from __future__ import annotations

from dataclasses import dataclass

from bank.composing import Paper
from bank.reasons import reasons_for
from bank.tray import Outline
from geometry.checks import Check
from geometry.option_sets import Option, OptionSet
from geometry.pictures import Picture, draw_option, draw_stem
from geometry.pictures.frame import MARGIN, WIDTH, frame_of


@dataclass(frozen=True)
class DrawnOption:
    letter: str
    picture: Picture
    is_key: bool
    says: str

    @classmethod
    def of(cls, option: Option, option_set: OptionSet) -> DrawnOption:
        sheet = option_set.spec.sheet
        picture = draw_option(sheet, option.holes, title=f"Option {option.label}", size="small")
        says = " ".join(mistake.says for mistake in option.mistakes)
        return cls(option.label, picture, option.label == option_set.key, says)


@dataclass(frozen=True)
class Scale:
    """How a picture's units lie on the sheet, so that a script can read a click: x = (u - margin) / unit + left."""

    left: float
    top: float
    unit: int = WIDTH
    margin: int = MARGIN


@dataclass(frozen=True)
class Drawn:
    """The paper in pictures. ``corners`` are, for each picture of the stem, those before that fold: "x,y x,y"."""

    stem: tuple[Picture, ...] = ()
    corners: tuple[str, ...] = ()
    flat: Picture | None = None
    holes: int = 0
    layers: tuple[int, ...] = ()
    scale: Scale | None = None


@dataclass(frozen=True)
class Findings:
    """The options and what is to be said of them; empty while there are none."""

    options: tuple[DrawnOption, ...] = ()
    checks: tuple[Check, ...] = ()
    level: int | None = None
    reasons: tuple[str, ...] = ()


def draw_paper(paper: Paper) -> Drawn:
    """Draw as much of the paper as can be folded: at a fault, the folds before it."""
    unfolding = paper.unfolding or paper.as_far
    if unfolding is None:
        return Drawn()
    sheet = unfolding.spec.sheet
    regions = [hole.region for hole in unfolding.holes()]
    frame = frame_of(sheet)
    return Drawn(
        stem=draw_stem(unfolding),
        corners=tuple(_corners(Outline.of(state)) for state in unfolding.folded.states),
        flat=draw_option(sheet, regions, title="The sheet unfolded") if paper.unfolding else None,
        holes=len(regions),
        layers=unfolding.layers,
        scale=Scale(frame.left, frame.top),
    )


def draw_findings(option_set: OptionSet | None) -> Findings:
    if option_set is None:
        return Findings()
    return Findings(
        options=tuple(DrawnOption.of(option, option_set) for option in option_set.options),
        checks=option_set.checks(),
        level=option_set.difficulty.level,
        reasons=tuple(reasons_for(option_set.difficulty.to_json())),
    )


def _corners(outline: Outline) -> str:
    return " ".join(f"{x},{y}" for x, y in sorted(outline.vertices))
