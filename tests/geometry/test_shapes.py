"""Shapes of punches: what each says of its own symmetry, by computation, and the circle about it."""

from itertools import pairwise
from math import pi, sin

import numpy as np
import pytest
import shapely

from geometry.shapes import ROUND, SHAPES

shapes = pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
TRIED = range(2, ROUND + 1)  # orders of rotation


def turned(outline: np.ndarray, degrees: float) -> np.ndarray:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return outline @ np.array([[c, s], [-s, c]])


def mirrored(outline: np.ndarray, degrees: float) -> np.ndarray:
    """The outline's mirror image in the line through the centre in this direction."""
    c, s = np.cos(2 * np.radians(degrees)), np.sin(2 * np.radians(degrees))
    return outline @ np.array([[c, s], [s, -c]])


def differ(one: np.ndarray, other: np.ndarray) -> float:
    """The area that only one of two outlines holds."""
    return shapely.symmetric_difference(shapely.Polygon(one), shapely.Polygon(other), grid_size=1e-9).area


@shapes
def test_the_circle_about_a_shape_has_diameter_one_and_its_centre_at_the_origin(shape):
    assert np.hypot(*shape.outline.T).max() == pytest.approx(0.5, abs=1e-9)
    cloud = shapely.MultiPoint(shape.outline)
    assert shapely.minimum_bounding_radius(cloud) == pytest.approx(0.5, abs=1e-6)


@shapes
def test_outlines_are_simple_and_anticlockwise(shape):
    assert shapely.Polygon(shape.outline).is_valid
    assert shapely.LinearRing(shape.outline).is_ccw
    assert len(np.unique(shape.outline.round(9), axis=0)) == len(shape.outline)


@shapes
def test_a_shape_has_the_rotations_it_states_and_no_finer_ones(shape):
    """Rotations that keep a figure form a cyclic group (textbook): every order it has divides the largest."""
    orders = [n for n in TRIED if differ(shape.outline, turned(shape.outline, 360 / n)) < 1e-6]
    assert orders == [n for n in TRIED if shape.rotations % n == 0]


@shapes
def test_a_shape_has_the_axes_it_states_and_no_others(shape):
    """Every candidate: steps of 4.5 degrees hold all axes of a star and a cross, those of 360 / 64 a disc's."""
    for degrees in {*np.arange(0, 180, 4.5), *np.arange(0, 180, 180 / ROUND), *shape.axes}:
        kept = differ(shape.outline, mirrored(shape.outline, degrees)) < 1e-6
        assert kept == any(abs(degrees - axis) < 1e-9 for axis in shape.axes), degrees


@shapes
def test_a_shape_that_mirrors_itself_has_as_many_axes_as_rotations(shape):
    """The dihedral group of order 2n has n axes (textbook)."""
    assert len(shape.axes) in (0, shape.rotations)
    assert shape.is_chiral == (not shape.axes)


def test_the_l_piece_turned_over_is_another_shape_however_it_is_turned():
    l_piece = SHAPES["L-piece"]
    assert l_piece.is_chiral
    back = mirrored(l_piece.outline, 0)
    assert min(differ(l_piece.outline, turned(back, degrees)) for degrees in range(0, 360, 3)) > 0.02
    assert [name for name, shape in SHAPES.items() if shape.is_chiral] == ["L-piece"]


@pytest.mark.parametrize(
    ("name", "area"),
    [
        ("disc", 4 * sin(2 * pi / 32)),
        ("square", 1 / 2),
        ("rectangle", 2 / 5),
        ("cross", 1 / 2),
        ("half-disc", pi / 8),
        ("star", 5 * 0.5 * 0.2 * sin(pi / 5)),
    ],
)
def test_areas_are_those_of_the_textbook(name, area):
    """In a circle of diameter 1: a square 1/2; a 2 by 1 rectangle 2/5; a cross of five squares 5 / 10; a star of ten
    triangles with sides 1/2 and 1/5 and 36 degrees between; a 32-gon 32/8 sin(360/32 degrees)."""
    assert shapely.Polygon(SHAPES[name].outline).area == pytest.approx(area, rel=0.01)


def test_a_rectangle_is_twice_as_high_as_wide_and_a_triangle_isosceles():
    x, y = np.ptp(SHAPES["rectangle"].outline, axis=0)
    assert y == pytest.approx(2 * x)
    assert np.hypot(x, y) == pytest.approx(1)
    a, b, c = SHAPES["triangle"].outline
    sides = sorted(np.hypot(*(p - q)) for p, q in ((a, b), (b, c), (c, a)))
    assert sum(abs(p - q) < 1e-9 for p, q in pairwise(sides)) == 1
