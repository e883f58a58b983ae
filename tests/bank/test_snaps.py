"""What a hand can take hold of: exact places with names, on paper whose lie is worked out by hand."""

from __future__ import annotations

from bank.snaps import hold_after
from geometry.spec import read_spec
from tests.bank.factories import HALVES


def places(text: str) -> dict[str, str]:
    return dict(part.split("|") for part in text.split(";"))


def test_a_flat_square_has_corners_middles_and_thirds() -> None:
    spec = read_spec(HALVES)
    hold = hold_after(spec.sheet, ())
    points = places(hold.points)
    assert len(points) == 4 + 4 * 3
    assert points["0,1"] == "the top left corner"
    assert points["1/2,0"] == "the middle of the bottom edge"
    assert points["1,2/3"] == "a third along the right edge"
    assert places(hold.lines)["0,0 0,1"] == "on the left edge"
    assert (hold.low, hold.high) == ("0,0", "1,1")


def test_an_earlier_crease_has_its_name_where_it_lies() -> None:
    """Left half over right half: the crease is the upright line at one half, and the paper reaches from there to 1."""
    spec = read_spec(HALVES)
    hold = hold_after(spec.sheet, spec.folds[:1])
    assert places(hold.lines)["1/2,0 1/2,1"] == "on the crease of fold 1"
    assert places(hold.points)["1/2,1/2"] == "the middle of the crease of fold 1"
    assert (hold.low, hold.high) == ("1/2,0", "1,1")
    outline = [tuple(map(float, corner.split(","))) for corner in hold.outline.split()]
    assert {*outline} == {(0.5, 0), (1, 0), (1, 1), (0.5, 1)}
