"""The tray's creases. Outside check: a corner is brought along the perpendicular bisector that sympy finds."""

from __future__ import annotations

from fractions import Fraction

import pytest
from sympy import Line, Point, Rational, Segment

from bank.tray import DEPTHS, PLACES, Outline, crease_from_tray, find_in_tray
from geometry.folding import State, fold_sheet
from geometry.spec import read_spec


def state_after(*folds: dict, sheet: dict | None = None) -> State:
    spec = read_spec({"version": 1, "sheet": sheet or {"kind": "square"}, "folds": list(folds)})
    return fold_sheet(spec.sheet, spec.folds).states[-1]


FLAT = Outline.of(state_after())
HALF = Outline.of(state_after(crease_from_tray("left", "1/2", FLAT)))
CHOICES = [(place, depth) for place in PLACES for depth in DEPTHS if depth != "slant" or "-" in place]


def test_the_outline_of_folded_paper_is_exact() -> None:
    assert (HALF.low, HALF.high) == ((Fraction(1, 2), 0), (1, 1))
    assert HALF.size == (Fraction(1, 2), 1)


@pytest.mark.parametrize(
    ("place", "depth", "crease"),
    [
        ("left", "1/2", ([["1/2", "0"], ["1/2", "1"]], ["0", "1/2"])),
        ("right", "1/4", ([["3/4", "0"], ["3/4", "1"]], ["1", "1/2"])),
        ("top", "1/3", ([["0", "2/3"], ["1", "2/3"]], ["1/2", "1"])),
        ("bottom", "1/2", ([["0", "1/2"], ["1", "1/2"]], ["1/2", "0"])),
        ("top-right", "slant", ([["0", "1"], ["1", "0"]], ["1", "1"])),
    ],
)
def test_sides_and_slants_of_a_flat_square(place: str, depth: str, crease: tuple) -> None:
    assert crease_from_tray(place, depth, FLAT) == {"crease": crease[0], "moves": crease[1]}


@pytest.mark.parametrize(("depth", "to"), [("1/2", ["1", "1"]), ("1/3", ["2/3", "2/3"]), ("1/4", ["1/2", "1/2"])])
def test_a_corner_goes_towards_the_opposite_corner(depth: str, to: list[str]) -> None:
    assert crease_from_tray("bottom-left", depth, FLAT) == {"bring": ["0", "0"], "to": to}


@pytest.mark.parametrize("outline", [FLAT, HALF], ids=["flat", "halved"])
@pytest.mark.parametrize("place", [place for place in PLACES if "-" in place])
@pytest.mark.parametrize("depth", ["1/2", "1/3", "1/4"])
def test_a_corner_creases_its_diagonal_at_the_share_named(outline: Outline, place: str, depth: str) -> None:
    """sympy.geometry: the bisector of the way from corner to landing crosses the diagonal at that share of it."""
    fold = crease_from_tray(place, depth, outline)
    corner, landing = (Point(*map(Rational, fold[name])) for name in ("bring", "to"))
    lows, highs = ([Rational(str(v)) for v in p] for p in (outline.low, outline.high))
    opposite = Point(*(low + high - c for low, high, c in zip(lows, highs, corner, strict=True)))
    crease = Segment(corner, landing).perpendicular_bisector()
    (crossing,) = Line(*crease.points[:2]).intersection(Line(corner, opposite))
    assert crossing.distance(corner) / opposite.distance(corner) == Rational(depth)


@pytest.mark.parametrize(("place", "depth"), CHOICES)
def test_every_choice_folds_a_flat_square_and_is_found_again(place: str, depth: str) -> None:
    fold = crease_from_tray(place, depth, FLAT)
    state_after(fold)
    again = find_in_tray(fold | {"way": "over", "layers": "all"}, FLAT)
    assert again is not None
    assert crease_from_tray(*again, FLAT) == fold


@pytest.mark.parametrize("kind", ["triangle", "hexagon", "disc"])
@pytest.mark.parametrize(("place", "depth"), CHOICES)
def test_every_choice_folds_other_sheets_too_and_takes_the_top_layer_where_asked(kind: str, place: str, depth: str):
    """A disc has no corner, and a triangle none at the top left: what reaches farthest that way is taken hold of."""
    sheet = {"kind": kind}
    fold = crease_from_tray(place, depth, Outline.of(state_after(sheet=sheet))) | {"layers": 1}
    assert len(state_after(fold, sheet=sheet).faces) == 2


def test_a_corner_that_is_folded_away_is_the_middle_of_the_crease_that_took_it() -> None:
    """The lower left corner lies on the upper right one; half of what is left towards it, from (1/2, 1/2) to (1, 1)."""
    triangle = Outline.of(state_after(crease_from_tray("bottom-left", "1/2", FLAT)))
    assert crease_from_tray("bottom-left", "1/2", triangle) == {"bring": ["1/2", "1/2"], "to": ["1", "1"]}


def test_a_triangle_can_be_folded_three_times_on_the_slant() -> None:
    """Its corners are rounded, so exact numbers grow: after two such folds they are longer than a spec may hold."""
    folds: list[dict] = []
    for place in ("top-right", "bottom-right", "bottom"):
        folds.append(crease_from_tray(place, "1/2", Outline.of(state_after(*folds, sheet={"kind": "triangle"}))))
    assert len(state_after(*folds, sheet={"kind": "triangle"}).faces) > 4


def test_a_fold_of_another_making_is_not_in_the_tray() -> None:
    assert find_in_tray({"crease": [["1/5", "0"], ["1/5", "1"]], "moves": ["0", "0"]}, FLAT) is None


def test_a_side_cannot_be_folded_on_the_slant() -> None:
    with pytest.raises(ValueError, match="A crease at 45° starts from a corner: choose a corner, or another depth"):
        crease_from_tray("left", "slant", FLAT)


def test_the_grip_of_a_side_lies_on_the_paper() -> None:
    triangle = Outline.of(state_after(crease_from_tray("bottom-right", "1/2", FLAT)))
    assert crease_from_tray("left", "1/4", triangle)["moves"] == ["0", "1/2"]
    assert crease_from_tray("right", "1/4", triangle)["moves"] == ["1", "1"]
