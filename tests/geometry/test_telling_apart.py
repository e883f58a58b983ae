"""Pictures told apart: all at once as two by two, and against areas laid on one another by shapely."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest
import shapely

from geometry.checks import pictures_apart
from geometry.flat import Flat, all_apart
from geometry.marks import Mark, unit
from geometry.openings import cut_of
from geometry.shapes import SHAPES
from geometry.spec import Punch
from geometry.telling_apart import NEAR, TURNED, alike


def mark(shape: str = "heart", at: complex = 0.5 + 0.5j, turn: float = 0, size: str = "1/8") -> Mark:
    return Mark(cut_of(Punch(shape, (Fraction(1, 2), Fraction(1, 2)), Fraction(size))), at, unit(turn))


PICTURES = [
    Flat((mark(at=0.2 + 0.2j), mark(at=0.8 + 0.8j))),
    Flat((mark(at=0.2 + 0.2j), mark(at=0.8 + 0.7j))),
    Flat((mark(at=0.2 + 0.2j), mark(at=0.8 + 0.76j))),
    Flat((mark(at=0.2 + 0.2j),)),
    Flat((mark(at=0.2 + 0.2j), mark(at=0.8 + 0.8j, turn=180))),
    Flat((mark(at=0.2 + 0.2j), mark("star", at=0.8 + 0.8j))),
    Flat((mark(at=0.2 + 0.2j), mark("star", at=0.8 + 0.8j, turn=36))),
]


@pytest.mark.parametrize("places", list(combinations(range(len(PICTURES)), 3)))
def test_all_at_once_is_two_by_two(places):
    chosen = [PICTURES[place] for place in places]
    assert all_apart(chosen) == all(p.is_apart_from(q) for p, q in combinations(chosen, 2))


def test_drawn_sets_are_apart_all_at_once(lots):
    """The pictures of real sets, read back as regions: every pair has areas that differ (shapely)."""
    for options in lots[:20]:
        for one, other in combinations(options.options, 2):
            shown = [shapely.union_all(option.holes) for option in (one, other)]
            assert shapely.symmetric_difference(*shown, grid_size=1e-9).area > 1e-3


def test_a_hole_moved_by_a_twelfth_is_seen_and_by_less_is_not():
    """2.5 mm in a picture 30 mm wide: measured by looking, a choice of ours."""
    assert not alike(mark(size="1/12"), mark(at=0.5 + (0.5 + NEAR + 1e-6) * 1j, size="1/12"))
    assert alike(mark(size="1/12"), mark(at=0.5 + (0.5 + NEAR - 1e-3) * 1j, size="1/12"))


@pytest.mark.parametrize("shape", SHAPES)
def test_three_quarters_of_its_size_is_far_enough_for_the_check_of_a_set_as_for_its_making(shape):
    """A punch of 1/6 that slips by 1/8, both of which the workbench begins with; the check reads rounded regions."""
    one, moved = (mark(shape, at, size="1/6") for at in (0.25 + 0.25j, 0.375 + 0.25j))
    assert not alike(one, moved)
    assert pictures_apart(*(Flat((hole,)).regions for hole in (one, moved)))


@pytest.mark.parametrize("pair", list(combinations(SHAPES, 2)), ids=" ".join)
def test_two_shapes_are_told_apart_when_their_areas_differ(pair):
    """Against shapely: outlines laid on one another by centroids, their difference against the larger area."""
    one, other = (mark(shape).region() for shape in pair)
    between = shapely.get_coordinates(one.centroid) - shapely.get_coordinates(other.centroid)
    laid = shapely.transform(other, lambda xy: xy + between)
    differ = one.symmetric_difference(laid).area >= TURNED * max(one.area, other.area)
    assert alike(mark(pair[0]), mark(pair[1])) != differ


def test_a_star_turned_by_a_tenth_looks_the_same_though_its_area_differs():
    """A star turned by 36 degrees differs by 0.86 of its area, and nobody sees it turned."""
    assert alike(mark("star"), mark("star", turn=36))
    assert not alike(mark("arrow"), mark("arrow", turn=180))


def test_small_holes_do_not_show_their_turn():
    assert alike(mark("arrow", size="1/12"), mark("arrow", turn=180, size="1/12"))
