"""An example of each kind of mistake: the punched paper, the sheet rightly opened, the sheet wrongly opened, marked."""

from __future__ import annotations

from functools import cache
from typing import Any

from geometry.errors import OptionSetError
from geometry.mistakes import KINDS
from geometry.option_sets import Option
from geometry.pictures.contact_sheet import lay_out
from geometry.pictures.marked import draw_marked_option
from geometry.pictures.option import draw_option
from geometry.pictures.stem import draw_stem
from geometry.pictures.svg import Picture
from geometry.pictures.theme import THEMES
from geometry.spec import read_spec
from geometry.teaching import Candidate, Workings, work_out
from geometry.unfolding import unfold

LEFT_OVER = {"bring": [0, "1/2"], "to": [1, "1/2"]}
UP = {"bring": [1, 0], "to": [1, 1]}
SLANTING = {"crease": [["1/2", "1/2"], [1, 1]], "moves": ["1/2", 1]}


def _question(folds: list[dict[str, Any]], *punches: tuple[str, str, str, int]) -> dict[str, Any]:
    """A question on a square with punches an eighth in size: shape, place and turn."""
    made = [{"shape": shape, "at": [x, y], "size": "1/8", "turn": turn} for shape, x, y, turn in punches]
    return {"version": 1, "sheet": {"kind": "square"}, "folds": folds, "punches": made}


QUESTIONS = (  # the simplest first: a kind is shown on the first that can show it
    _question([LEFT_OVER], ("arrow", "5/8", "2/3", 300)),
    _question([LEFT_OVER], ("arrow", "5/8", "2/3", 300), ("disc", "5/6", "1/4", 0)),
    _question([LEFT_OVER, UP], ("arrow", "5/8", "3/4", 300)),
    _question([LEFT_OVER, SLANTING], ("arrow", "7/8", "2/3", 300)),
)


@cache
def _workings() -> tuple[tuple[Workings, list[Candidate]], ...]:
    worked = [work_out(unfold(read_spec(question))) for question in QUESTIONS]
    return tuple((one, one.candidates()) for one in worked)


def example_of(kind: str) -> tuple[Workings, Candidate]:
    """A question, and its wrong picture that one mistake of a kind makes."""
    for workings, candidates in _workings():
        for candidate in candidates:
            if candidate.mistakes[0].kind == kind:
                return workings, candidate
    raise OptionSetError(f"No example question shows “{KINDS[kind].label}”.")


def draw_mistake(kind: str, theme: str = "screen", *, size: str = "normal") -> Picture:
    """Side by side: the folded paper with its holes, the right sheet, and the wrong one with its first fault marked."""
    workings, candidate = example_of(kind)
    unfolding = workings.unfolding
    wrong = Option("B", candidate.flat.regions, candidate.mistakes)
    row = (
        draw_stem(unfolding, theme, size=size)[-1],
        draw_option(unfolding.spec.sheet, workings.key.regions, theme, size=size, title="Opened rightly"),
        draw_marked_option(unfolding, wrong, theme, size=size),
    )
    laid = lay_out([row], KINDS[kind].label, ground=THEMES[theme].front)
    return Picture(
        laid.svg.replace("1 rows of pictures.", candidate.mistakes[0].says), laid.title, candidate.mistakes[0].says
    )
