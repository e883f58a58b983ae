"""Cutting polygons along lines: exact areas, simple pieces, and the same pieces as ``shapely.ops.split``."""

from fractions import Fraction as F
from random import Random

import pytest
import shapely
import shapely.ops

from geometry.cutting import is_convex, join, overlap, split
from geometry.plane import line_through, side, to_xy, twice_area, vertex
from tests.geometry.random_specs import SHEETS


def polygon(*points):
    return tuple(vertex((F(x), F(y))) for x, y in points)


SQUARE = polygon((0, 0), (1, 0), (1, 1), (0, 1))
U = polygon((0, 0), (3, 0), (3, 3), (2, 3), (2, 1), (1, 1), (1, 3), (0, 3))
NAMED = {name: polygon(*((F(x, 10), F(y, 10)) for x, y in points)) for name, points in SHEETS.items()}


def line(p, q):
    return line_through((F(p[0]), F(p[1])), (F(q[0]), F(q[1])))


def areas(pieces):
    return sorted(twice_area(piece) / 2 for piece in pieces)


def random_line(rng: Random):
    """A line through two points of a grid of tenths, so that it often runs through corners and along edges."""
    while True:
        p, q = ((F(rng.randint(-1, 11), 10), F(rng.randint(-1, 11), 10)) for _ in range(2))
        if p != q:
            return p, q, line_through(p, q)


@pytest.mark.parametrize("name", sorted(NAMED))
def test_pieces_are_simple_lie_on_their_side_and_add_up_exactly(name):
    ring, rng = NAMED[name], Random(name)
    for _ in range(60):
        _, _, cut = random_line(rng)
        above, below = split(ring, cut)
        assert sum(map(twice_area, above + below)) == twice_area(ring)
        assert all(side(cut, v) >= 0 for piece in above for v in piece)
        assert all(side(cut, v) <= 0 for piece in below for v in piece)
        for piece in above + below:
            assert twice_area(piece) > 0
            assert shapely.Polygon(to_xy(piece)).is_valid


@pytest.mark.parametrize("name", sorted(NAMED))
def test_pieces_are_those_of_shapely(name):
    """shapely 2 (GEOS): general-purpose. Its areas are floats, so they agree to 1e-9; the count agrees outright."""
    ring, rng = NAMED[name], Random(f"{name} again")
    for _ in range(25):
        p, q, _ = random_line(rng)
        p, q = (float(p[0]), float(p[1]) + 0.00123), (float(q[0]) + 0.00071, float(q[1]))  # floats dislike corners
        if p == q:
            continue
        cut = line_through((F(p[0]), F(p[1])), (F(q[0]), F(q[1])))
        dx, dy = (q[0] - p[0]) * 200, (q[1] - p[1]) * 200
        long = shapely.LineString([(p[0] - dx, p[1] - dy), (q[0] + dx, q[1] + dy)])
        theirs = shapely.ops.split(shapely.Polygon(to_xy(ring)), long)
        ours = [piece for pieces in split(ring, cut) for piece in pieces]
        assert [float(a) for a in areas(ours)] == pytest.approx(sorted(g.area for g in theirs.geoms), abs=1e-9)


@pytest.mark.parametrize("name", sorted(NAMED))
def test_pieces_joined_again_are_the_polygon(name):
    ring, rng = NAMED[name], Random(f"{name} joined")
    for _ in range(30):
        _, _, cut = random_line(rng)
        above, below = split(ring, cut)
        if above and below:
            (whole,) = join(above + below, cut)
            start = whole.index(ring[0])
            assert whole[start:] + whole[:start] == ring


def test_a_cut_across_both_arms_of_a_u_leaves_three_pieces():
    above, below = split(U, line((0, 2), (3, 2)))
    assert areas(above) == [1, 1]
    assert areas(below) == [5]


def test_a_cut_through_two_corners_makes_two_triangles():
    above, below = split(SQUARE, line((0, 0), (1, 1)))
    assert (areas(above), areas(below)) == ([F(1, 2)], [F(1, 2)])
    assert {len(piece) for piece in above + below} == {3}


@pytest.mark.parametrize(
    ("p", "q"),
    [((0, 0), (1, -1)), ((0, 1), (1, 1)), ((5, 0), (5, 1))],
    ids=["touching a corner", "along an edge", "clear of it"],
)
def test_a_line_that_does_not_cross_leaves_the_polygon_as_it_is(p, q):
    above, below = split(SQUARE, line(p, q))
    assert above + below == [SQUARE]


def test_a_cut_along_the_floor_of_a_u_parts_its_arms():
    """The line runs along an edge, and touches two hollow corners."""
    above, below = split(U, line((0, 1), (3, 1)))
    assert areas(above) == [2, 2]
    assert areas(below) == [3]


def test_a_cut_that_touches_a_hollow_corner_and_one_that_touches_a_peak():
    notched = polygon((0, 0), (2, 0), (2, 2), (1, 1), (0, 2))
    above, below = split(notched, line((0, 1), (2, 1)))
    assert areas(above) == [F(1, 2), F(1, 2)]
    assert areas(below) == [2]
    peaked = polygon((0, 0), (4, 0), (4, 3), (3, 1), (2, 2), (1, 1), (0, 3))
    above, below = split(peaked, line((0, 2), (4, 2)))  # past the middle peak's tip
    assert areas(above) == [F(1, 4), F(1, 4)]
    assert len(below) == 1


def test_convexity_and_overlap():
    assert is_convex(SQUARE)
    assert not is_convex(U)
    in_the_gap = polygon((1, 2), (2, 2), (2, 3), (1, 3))
    assert not overlap(U, in_the_gap)  # its rim touches on both sides
    assert overlap(U, polygon((F(9, 10), 2), (2, 2), (2, 3), (1, 3)))
    assert not overlap(SQUARE, polygon((1, 1), (2, 1), (2, 2)))  # a corner in common
    assert overlap(SQUARE, SQUARE)


@pytest.mark.parametrize("seed", range(4))
def test_overlap_is_that_of_shapely(seed):
    rng, names = Random(seed), sorted(NAMED)
    for _ in range(25):
        one, other = NAMED[rng.choice(names)], NAMED[rng.choice(names)]
        dx, dy = F(rng.randint(-100, 100), 97), F(rng.randint(-100, 100), 89)  # primes: no edges that only touch
        moved = tuple(vertex((F(x, w) + dx, F(y, w) + dy)) for x, y, w in other)
        shared = shapely.intersection(shapely.Polygon(to_xy(one)), shapely.Polygon(to_xy(moved)), grid_size=1e-9)
        assert overlap(one, moved) == (shared.area > 1e-9)
