"""Punching: outlines in the folded plane, how many layers they go through, and punches that miss."""

from fractions import Fraction as F

import numpy as np
import pytest
import shapely

from geometry.errors import PunchError
from geometry.punching import circle_about, outline_of
from geometry.shapes import SHAPES
from geometry.spec import Punch, read_spec
from geometry.unfolding import unfold

QUARTERS = [
    {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, 0]},
    {"crease": [[0, "1/2"], [1, "1/2"]], "moves": [0, 0]},
]


def solve(*punches, folds=QUARTERS):
    return unfold(
        read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": list(folds), "punches": list(punches)})
    )


def disc(x, y, size="1/12"):
    return {"shape": "disc", "at": [x, y], "size": size}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("turn", [0, 90, 17, 200])
def test_an_outline_is_the_shape_scaled_turned_and_moved_as_shapely_does_it(shape, turn):
    """shapely.affinity, general-purpose."""
    made = shapely.Polygon(outline_of(Punch(shape, (F(1, 3), F(1, 4)), F(1, 5), F(turn))))
    theirs = shapely.affinity.rotate(shapely.Polygon(SHAPES[shape].outline), turn, origin=(0, 0))
    theirs = shapely.affinity.scale(theirs, 0.2, 0.2, origin=(0, 0))
    theirs = shapely.affinity.translate(theirs, 1 / 3, 1 / 4)
    assert np.abs(shapely.get_coordinates(made) - shapely.get_coordinates(theirs)).max() < 1e-12


@pytest.mark.parametrize("shape", SHAPES)
def test_the_circle_about_a_punch_holds_it(shape):
    punch = Punch(shape, (F(1, 3), F(1, 4)), F(1, 5), F(33))
    x, y, radius = circle_about(punch)
    assert np.hypot(*(outline_of(punch) - (x, y)).T).max() <= radius
    assert radius == pytest.approx(1 / 10)


def test_an_outline_given_clockwise_cuts_what_it_cuts_anticlockwise():
    points = [(F(0), F(0)), (F(1, 2), F(0)), (F(0), F(1, 2))]
    one, other = (
        outline_of(Punch("outline", (F(3, 4), F(3, 4)), F(1, 5), points=tuple(p))) for p in (points, points[::-1])
    )
    assert shapely.LinearRing(one).is_ccw
    assert shapely.LinearRing(other).is_ccw
    assert shapely.Polygon(one).equals(shapely.Polygon(other))


def test_two_folds_in_half_are_four_layers():
    solved = solve(disc("3/4", "3/4"), disc("7/8", "5/8"))
    assert solved.layers == (4, 4)
    assert len(solved.holes()) == 8
    assert {hole.punch for hole in solved.holes()} == {0, 1}


def test_layers_are_those_under_the_punch():
    """A third folded over leaves two layers on one side of the turned edge and one on the other."""
    third = {"crease": [["1/3", 0], ["1/3", 1]], "moves": [0, 0]}
    solved = solve(disc("1/2", "1/2"), disc("5/6", "1/2"), disc("2/3", "1/2"), folds=[third])
    assert solved.layers == (2, 1, 2)  # the last runs over the edge of the upper layer


def test_without_folds_a_punch_is_its_own_hole():
    solved = solve(disc("1/2", "1/2"), folds=[])
    (hole,) = solved.holes()
    assert shapely.symmetric_difference(hole.region, solved.punches[0], grid_size=1e-9).area < 1e-12
    assert (hole.folds, solved.layers) == ((), (1,))


def test_punches_that_run_together_make_one_hole_of_no_single_punch():
    holes = solve(disc("3/4", "3/4"), disc("19/24", "3/4")).holes()
    assert [hole.punch for hole in holes] == [None] * 4


@pytest.mark.parametrize(
    "punch",
    [disc("1/4", "3/4"), disc(2, 2), disc("11/24", "3/4")],
    ids=["where paper was folded away", "far off", "touching the edge"],
)
def test_a_punch_that_misses_the_folded_paper_is_refused_with_its_number(punch):
    with pytest.raises(PunchError, match=r"^Punch 2 does not touch the folded paper\.$") as caught:
        solve(disc("3/4", "3/4"), punch)
    assert (caught.value.punch, caught.value.fold) == (1, None)
