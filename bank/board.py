"""A question on the board: the stem and its options, then the unfolding, each wrong option struck out where it errs.

A slide is a moment of it. Slides follow the openings, the last fold first; an option whose first mistake is made when a
fold opens is struck out right after that opening, and one that was punched wrong before anything is opened.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from bank.display import LETTERS, marked_pictures, option_says, pictures_for
from bank.drawing import Kind
from bank.models import Picture, Version
from geometry.option_sets import Option, OptionSet
from geometry.pictures import FlapTurn, flap_turn
from geometry.pictures import Picture as Drawing
from geometry.pictures.marked import first_of
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold

QUESTION, STEP, STRIKE, ANSWER = "question", "step", "strike", "answer"


@dataclass(frozen=True)
class Slide:
    """``picture`` is the paper as it lies, ``turn`` how its flap came there; ``letter`` the option spoken of.

    ``struck`` are the letters struck out so far, this slide's own among them.
    """

    kind: str
    title: str
    says: str = ""
    picture: Picture | None = None
    turn: FlapTurn | None = None
    letter: str = ""
    marked: Drawing | None = None
    struck: str = ""
    fold: int = 0  # the last one opened; 0 while none is


@dataclass(frozen=True)
class Surround:
    """What stands about a board: its name, where closing it leads, and the boards before and after it in a set."""

    title: str
    close: str
    earlier: str = ""
    later: str = ""


@dataclass(frozen=True)
class BoardOption:
    letter: str
    picture: Picture
    is_struck: bool
    is_spoken_of: bool
    is_shown_right: bool


@dataclass(frozen=True)
class Opened:
    """A fold on the way: open, or still to be opened, or the one that has just been."""

    fold: int
    is_open: bool
    is_now: bool


@dataclass(frozen=True)
class Board:
    """All slides of a version, and one of them chosen."""

    version: Version
    slides: tuple[Slide, ...]
    at: int
    stem: tuple[Picture, ...]
    pictures: tuple[Picture, ...]

    @property
    def slide(self) -> Slide:
        return self.slides[self.at]

    @property
    def place(self) -> int:
        """The slide's place, counted from 1."""
        return self.at + 1

    @property
    def options(self) -> list[BoardOption]:
        """The options as this slide shows them."""
        slide = self.slide
        return [
            BoardOption(
                letter,
                picture,
                letter in slide.struck,
                letter == slide.letter,
                slide.kind == ANSWER and letter == slide.letter,
            )
            for letter, picture in zip(LETTERS, self.pictures, strict=False)
        ]

    @property
    def openings(self) -> list[Opened]:
        """The folds in the order in which they open."""
        last = self.slide.fold
        return [Opened(fold, bool(last) and fold >= last, fold == last) for fold in range(self.version.folds, 0, -1)]

    @property
    def back(self) -> Slide | None:
        return self.slides[self.at - 1] if self.at else None

    @property
    def forth(self) -> Slide | None:
        return self.slides[self.at + 1] if self.at + 1 < len(self.slides) else None


def board_of(version: Version, at: str) -> Board:
    """The board of a version; ``at`` is the slide asked for, as typed in an address: the first if it is none."""
    shown = pictures_for([version], [Kind.STEM, Kind.STEP, Kind.OPTION])[version.pk]
    slides = tuple(_slides(version, shown.steps))
    place = int(at) if at.isascii() and at.isdigit() and len(at) < 4 else 0
    return Board(version, slides, min(place, len(slides) - 1), shown.stem, shown.options)


def board_page(version: Version, asked: Mapping[str, str], surround: Surround) -> dict[str, Any]:
    """What the page of a board shows, for an address that asks for a slide (``at``), and maybe for it tilted.

    Only where a slanting crease is seen is there something to tilt.
    """
    board = board_of(version, asked.get("at", ""))
    tilt = board.slide.turn.tilt if board.slide.turn else 0
    is_tilted = bool(tilt) and asked.get("tilt") == "1"
    turned = tilt if is_tilted else 0
    return {"board": board, "surround": surround, "tilt": tilt, "is_tilted": is_tilted, "turned": turned}


def _slides(version: Version, steps: tuple[Picture, ...]) -> Iterator[Slide]:
    unfolding = unfold(read_spec(version.spec))
    marked = dict(zip(LETTERS, marked_pictures(version), strict=False))
    wrong = [option for option in OptionSet.from_json(version.options).options if option.mistakes]
    yield Slide(QUESTION, "Which sheet is it, unfolded?")
    struck = ""
    current = Slide(STEP, steps[0].title, steps[0].description, steps[0])
    yield current
    for opened, step in enumerate(steps):
        if opened:
            current = _opening(unfolding, version.folds - opened + 1, step, struck)
            yield current
        for option in _struck_at(wrong, version.folds - opened + 1, before=False) if opened else []:
            struck += option.label
            yield _strike(version, option, current, marked[option.label], struck)
        for option in _struck_at(wrong, version.folds - opened, before=True):
            struck += option.label
            yield _strike(version, option, current, marked[option.label], struck)
    title = f"{version.key} is right"
    says = "It is the sheet unfolded, right at every fold."
    yield Slide(ANSWER, title, says, steps[-1], letter=version.key, struck=struck, fold=current.fold)


def _opening(unfolding: Unfolding, fold: int, step: Picture, struck: str) -> Slide:
    return Slide(STEP, step.title, step.description, step, flap_turn(unfolding, fold), struck=struck, fold=fold)


def _strike(version: Version, option: Option, current: Slide, marked: Drawing, struck: str) -> Slide:
    return Slide(
        STRIKE,
        f"Not {option.label}",
        option_says(version, option.label),
        current.picture,
        current.turn,
        letter=option.label,
        marked=marked,
        struck=struck,
        fold=current.fold,
    )


def _struck_at(wrong: list[Option], fold: int, *, before: bool) -> list[Option]:
    """The wrong options whose first mistake is made before, or on, the opening of a fold."""
    first = [(option, first_of(option.mistakes)) for option in wrong]
    return [option for option, mistake in first if mistake and (mistake.fold, mistake.before) == (fold, before)]
