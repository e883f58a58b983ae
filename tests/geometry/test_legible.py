"""Whether holes can be read in print: an option's picture is 30 mm wide there."""

from __future__ import annotations

import pytest
import shapely

from geometry.checks import PENCIL, PRINTED, holes_are_legible
from geometry.shapes import SHAPES
from geometry.spec import read_spec
from geometry.unfolding import unfold


def legible(shape: str, size: str, **others: object) -> bool:
    punch = {"shape": shape, "at": ["1/4", "1/3"], "size": size} | others
    fold = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [1, 0]}
    return holes_are_legible(
        unfold(read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": [fold], "punches": [punch]}))
    ).ok


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("size", ["1/16", "1/12", "1/6"])
def test_a_hole_that_is_nowhere_as_thick_as_a_pencils_line_is_refused(shape: str, size: str) -> None:
    """Against the largest circle that fits in (GEOS, by another way than the check goes)."""
    top, bottom = map(int, size.split("/"))
    circle = shapely.maximum_inscribed_circle(shapely.Polygon(SHAPES[shape].outline), tolerance=1e-4)
    assert legible(shape, size) == (2 * circle.length * top / bottom * PRINTED >= PENCIL)


def test_a_small_crescent_is_a_line_and_a_disc_of_its_size_is_not() -> None:
    assert not legible("crescent", "1/16")
    assert legible("disc", "1/16")


def test_a_long_slit_is_refused_however_long() -> None:
    slit = [[-1, "-1/40"], [1, "-1/40"], [1, "1/40"], [-1, "1/40"]]
    assert not legible("outline", "1/5", points=slit)
    assert legible("outline", "1/5", points=[[x, y.replace("40", "4")] for x, y in slit])
