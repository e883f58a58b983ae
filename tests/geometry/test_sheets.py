"""Sheets of paper: paper sizes of ISO 216, regular polygons, and outlines that are none."""

from fractions import Fraction as F
from math import cos, pi, sin, sqrt

import numpy as np
import pytest
import shapely

from geometry.errors import SpecError
from geometry.folding import fold_sheet
from geometry.plane import to_xy, twice_area
from geometry.spec import Fold, Sheet, read_spec
from tests.geometry.random_specs import SHEETS

A_SIZES = {0: (841, 1189), 1: (594, 841), 2: (420, 594), 3: (297, 420), 4: (210, 297), 5: (148, 210), 6: (105, 148)}


def sheet_of(**data) -> Sheet:
    return read_spec({"version": 1, "sheet": data}).sheet


def a_sheet(n: int) -> Sheet:
    """Paper of size A``n`` in units of its width."""
    width, height = A_SIZES[n]
    return sheet_of(kind="rectangle", width=1, height=f"{height}/{width}")


def sides_of(geometry) -> tuple[float, float]:
    left, low, right, high = geometry.bounds
    return tuple(sorted((right - left, high - low)))


@pytest.mark.parametrize("n", A_SIZES)
def test_a_sizes_are_near_the_root_of_two(n):
    """ISO 216: sides as 1 to the root of 2, whole millimetres (values from memory). One millimetre is the rounding."""
    width, height = A_SIZES[n]
    short, long = sides_of(shapely.Polygon(to_xy(a_sheet(n).outline)))
    assert long / short == pytest.approx(sqrt(2), abs=2 / width)
    assert twice_area(a_sheet(n).outline) == 2 * F(height, width)


@pytest.mark.parametrize("n", [0, 1, 2, 3, 4, 5])
def test_an_a_size_folded_in_half_across_is_the_next_size(n):
    """ISO 216: halving the long side gives the next size, to the millimetre."""
    width, height = A_SIZES[n]
    middle = F(height, 2 * width)
    fold = Fold(crease=((F(0), middle), (F(1), middle)), moves=(F(0), F(height, width)))
    short, long = sides_of(fold_sheet(a_sheet(n), (fold,)).states[-1].outline)
    expected = A_SIZES[n + 1]
    assert short * width == pytest.approx(expected[0], abs=1)
    assert long * width == pytest.approx(expected[1], abs=1)


def test_halving_three_times_keeps_the_ratio():
    """A4 (210 x 297 mm, ISO 216) folded to A7: the ratio comes back every second fold exactly, in between nearly."""
    height, low = F(297, 210), F(0)
    folds = (
        Fold(crease=((low, height / 2), (F(1), height / 2)), moves=(low, height)),
        Fold(crease=((F(1, 2), low), (F(1, 2), height)), moves=(F(1), low)),
        Fold(crease=((low, height / 4), (F(1), height / 4)), moves=(low, height / 2)),
    )
    states = fold_sheet(a_sheet(4), folds).states
    ratios = [long / short for short, long in (sides_of(state.outline) for state in states)]
    assert ratios == pytest.approx([sqrt(2)] * 4, abs=1e-3)
    assert ratios[0] == pytest.approx(ratios[2], abs=1e-9)  # silhouettes snap to a fine grid
    assert [len(state.faces) for state in states] == [1, 2, 4, 8]


@pytest.mark.parametrize(
    ("kind", "area", "corners"),
    [("square", 1, 4), ("triangle", sqrt(3) / 4, 3), ("hexagon", 3 * sqrt(3) / 8, 6), ("disc", pi / 4, 96)],
)
def test_regular_sheets_have_the_area_of_the_textbook_and_are_one_wide(kind, area, corners):
    outline = sheet_of(kind=kind).outline
    shape = shapely.Polygon(to_xy(outline))
    assert shape.area == pytest.approx(area, rel=1e-3)
    assert shape.area == pytest.approx(float(twice_area(outline) / 2), abs=1e-12)
    left, low, right, _ = shape.bounds
    assert (left, low, right) == pytest.approx((0, 0, 1), abs=1e-9)
    assert len(outline) == corners
    assert twice_area(outline) > 0


@pytest.mark.parametrize("kind", ["triangle", "hexagon", "disc"])
def test_regular_sheets_have_equal_sides_to_a_millionth(kind):
    xy = to_xy(sheet_of(kind=kind).outline)
    sides = np.hypot(*(np.roll(xy, -1, axis=0) - xy).T)
    assert np.ptp(sides) < 4e-6


@pytest.mark.parametrize("name", sorted(SHEETS))
@pytest.mark.parametrize("way_round", [1, -1])
def test_polygons_have_the_area_that_shapely_gives_either_way_round(name, way_round):
    points = [(F(x, 10), F(y, 10)) for x, y in SHEETS[name]][::way_round]
    sheet = sheet_of(kind="polygon", points=[[str(x), str(y)] for x, y in points])
    assert float(twice_area(sheet.outline) / 2) == pytest.approx(shapely.Polygon(points).area)
    hull = shapely.Polygon(points).convex_hull.area
    assert sheet.is_convex == (shapely.Polygon(points).area == pytest.approx(hull))


def pentagram() -> list[list[float]]:
    return [[0.5 + cos(0.8 * pi * i) / 2, 0.5 + sin(0.8 * pi * i) / 2] for i in range(5)]


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ([[0, 0], [1, 1], [1, 0], [0, 1]], "crosses or touches itself"),
        (pentagram(), "crosses or touches itself"),
        ([[0, 0], [1, 0], [1, 1], ["1/2", 0], [0, 1]], "crosses or touches itself"),
        ([[0, 0], [1, 0], ["1/2", 0], [0, 1]], "crosses or touches itself"),
        ([[0, 0], [1, 0], [0, 0], [0, 1]], "same point twice"),
        ([[0, 0], [1, 0]], "at least three points"),
    ],
    ids=["bow-tie", "pentagram", "a corner on an edge", "an edge that doubles back", "a point twice", "two points"],
)
def test_outlines_that_are_no_sheet_are_refused(points, says):
    with pytest.raises(SpecError, match=says):
        sheet_of(kind="polygon", points=points)


def test_a_polygon_may_have_a_corner_that_does_not_turn():
    sheet = sheet_of(kind="polygon", points=[[0, 0], ["1/2", 0], [1, 0], [0, 1]])
    assert twice_area(sheet.outline) == 1
