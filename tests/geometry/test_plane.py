"""Exact plane geometry: lines, motions and polygons in rational numbers, against sympy and the laws of isometries."""

from fractions import Fraction as F
from random import Random

import numpy as np
import pytest
import shapely
import sympy
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.plane import (
    IDENTITY,
    covers,
    line_of,
    line_through,
    point,
    reflection,
    side,
    to_xy,
    twice_area,
    vertex,
)

rationals = st.fractions(min_value=-3, max_value=3, max_denominator=90)
points = st.tuples(rationals, rationals)
lines = st.tuples(points, points).filter(lambda ends: ends[0] != ends[1]).map(lambda ends: line_through(*ends))


@st.composite
def motions(draw):
    """Products of up to four reflections: every isometry of the plane is one of at most three (textbook theorem)."""
    motion = IDENTITY
    for line in draw(st.lists(lines, max_size=4)):
        motion = reflection(line) @ motion
    return motion


def sympys(p):
    return sympy.Point(*(sympy.Rational(c.numerator, c.denominator) for c in p))


def random_point(rng: Random):
    return F(rng.randint(-40, 40), rng.randint(1, 40)), F(rng.randint(-40, 40), rng.randint(1, 40))


@pytest.mark.parametrize("seed", range(12))
def test_random_reflections_equal_those_of_sympy(seed):
    """sympy 1.14, ``Point.reflect``: exact, in rationals, so equality is asked and not nearness."""
    a, b, p = (random_point(Random(f"{seed}{name}")) for name in "abp")
    image = reflection(line_through(a, b)).carry_point(p)
    assert sympys(p).reflect(sympy.Line(sympys(a), sympys(b))) == sympys(image)


def test_a_line_of_slope_one_half_mirrors_as_the_textbook_matrix_says():
    """Along (dx, dy) = (2, 1): (dx^2 - dy^2) / s = 3/5 and 2 dx dy / s = 4/5, about the fixed point (0, 1/3)."""
    mirror = reflection(line_through((F(0), F(1, 3)), (F(1), F(5, 6))))
    assert mirror.linear == ((F(3, 5), F(4, 5)), (F(4, 5), F(-3, 5)))
    assert mirror.carry_point((F(9, 10), F(1, 10))) == (F(53, 150), F(179, 150))
    assert mirror.carry_point((F(0), F(1, 3))) == (F(0), F(1, 3))


@settings(max_examples=60, deadline=None)
@given(lines, points)
def test_a_point_and_its_image_are_equally_far_on_opposite_sides(line, p):
    """Common practice of the trade, and the definition of a mirror image; the way between is square to the line."""
    a, b, c = line
    (x, y), (u, v) = p, reflection(line).carry_point(p)
    assert a * x + b * y + c == -(a * u + b * v + c)
    assert (u - x) * b == (v - y) * a


@settings(max_examples=60, deadline=None)
@given(lines)
def test_a_reflection_undoes_itself_and_turns_the_paper_over(line):
    mirror = reflection(line)
    assert mirror @ mirror == IDENTITY
    assert ~mirror == mirror
    assert mirror.turns_over


@settings(max_examples=60, deadline=None)
@given(motions(), motions(), points)
def test_motions_compose_and_invert(one, other, p):
    assert (one @ other).carry_point(p) == one.carry_point(other.carry_point(p))
    assert ~one @ one == one @ ~one == IDENTITY
    assert (one @ other).turns_over == (one.turns_over != other.turns_over)


@settings(max_examples=60, deadline=None)
@given(motions(), points, points)
def test_motions_keep_distances(motion, p, q):
    (a, b), (c, d) = motion.carry_point(p), motion.carry_point(q)
    assert (a - c) ** 2 + (b - d) ** 2 == (p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2


@settings(max_examples=60, deadline=None)
@given(motions(), lines, points)
def test_a_line_pulled_back_has_the_same_points_on_the_same_side(motion, line, p):
    def sign(value):
        return (value > 0) - (value < 0)

    assert sign(side(motion.pull_back(line), vertex(p))) == sign(side(line, motion.carry(vertex(p))))


@settings(max_examples=40, deadline=None)
@given(motions(), points)
def test_floats_are_the_exact_images_rounded(motion, p):
    image = motion.carry_point(p)
    assert motion.carry_xy(to_xy([vertex(p)]))[0] == pytest.approx([float(c) for c in image], abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(points, points, points)
def test_the_left_of_a_line_is_positive(p, q, r):
    """The sign of the triangle's signed area (the shoelace formula)."""
    assume(p != q)
    area = (q[0] - p[0]) * (r[1] - p[1]) - (r[0] - p[0]) * (q[1] - p[1])
    at = side(line_through(p, q), vertex(r))
    assert (at > 0) == (area > 0)
    assert (at == 0) == (area == 0)
    assert (side(line_of(vertex(p), vertex(q)), vertex(r)) > 0) == (area > 0)


@settings(max_examples=60, deadline=None)
@given(points)
def test_a_vertex_is_the_point_in_lowest_terms(p):
    x, y, w = vertex(p)
    assert point((x, y, w)) == p
    assert w > 0
    assert np.gcd.reduce([x, y, w]) == 1


L_PIECE = [(F(0), F(0)), (F(1), F(0)), (F(1), F(1, 3)), (F(1, 3), F(1, 3)), (F(1, 3), F(1)), (F(0), F(1))]


def test_the_area_of_an_l_by_hand_and_by_shapely():
    ring = tuple(vertex(p) for p in L_PIECE)
    assert twice_area(ring) == 2 * F(5, 9)
    assert twice_area(ring[::-1]) == -2 * F(5, 9)
    assert shapely.Polygon(to_xy(ring)).area == pytest.approx(5 / 9)


@pytest.mark.parametrize("seed", range(5))
def test_a_polygon_that_is_not_convex_covers_what_shapely_says(seed):
    ring, shape, rng = tuple(vertex(p) for p in L_PIECE), shapely.Polygon(L_PIECE), Random(seed)
    for _ in range(100):  # sixths: corners, points of edges, inner and outer points
        p = F(rng.randint(-1, 7), 6), F(rng.randint(-1, 7), 6)
        exact = min(p) >= 0 and min(p) <= F(1, 3) and max(p) <= 1
        assert covers(ring, vertex(p)) == exact
        inner = (p[0] + F(1, 100), p[1] + F(1, 90))  # clear of every edge, where floats are to be trusted
        assert covers(ring, vertex(inner)) == shape.covers(shapely.Point(*map(float, inner)))
