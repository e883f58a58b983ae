"""Folds that take some layers only: small flaps worked out by hand, and what tears or blocks.

The rules are the some-layers simple folds of Arkin, Bender, Demaine, Demaine, Mitchell, Sethia and Skiena, "When can
you fold a map?" (2004); the stacks below are worked by hand.
"""

from fractions import Fraction as F

import pytest

from geometry.errors import LayersError
from geometry.folding import fold_sheet
from geometry.plane import twice_area
from geometry.spec import read_spec
from geometry.unfolding import unfold

BOOK = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, 0]}  # the left half over the right


def spec(*folds, punches=()):
    return read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": list(folds), "punches": list(punches)})


def stack(*folds) -> list[tuple[F, bool]]:
    """Each face's area and whether its back shows, bottom to top."""
    read = spec(*folds)
    return [(twice_area(face.flat) / 2, face.turned) for face in fold_sheet(read.sheet, read.folds).states[-1].faces]


def free_edge(**more):
    """Turns back what lies right of x = 3/4."""
    return {"crease": [["3/4", 0], ["3/4", 1]], "moves": [1, 0], **more}


def test_the_top_page_alone_is_turned_back():
    """Half (1/2) stays whole beneath; the top half is creased into quarters, the outer one showing its front again."""
    assert stack(BOOK, free_edge(layers=1)) == [(F(1, 2), False), (F(1, 4), True), (F(1, 4), False)]


def test_behind_takes_the_bottom_page():
    assert stack(BOOK, free_edge(layers=1, way="behind")) == [(F(1, 4), True), (F(1, 4), False), (F(1, 2), True)]


def test_two_layers_are_all_there_are():
    assert stack(BOOK, free_edge(layers=2)) == stack(BOOK, free_edge())


@pytest.mark.parametrize("way", ["over", "behind"])
def test_a_page_joined_at_the_fold_pulls_the_other_along(way):
    """Gripped at the folded edge, one layer cannot move without tearing the sheet there: both do."""
    spine = {"crease": [["3/4", 0], ["3/4", 1]], "moves": ["1/2", 0], "way": way}
    assert stack(BOOK, spine | {"layers": 1}) == stack(BOOK, spine)


@pytest.mark.parametrize("way", ["over", "behind"])
def test_more_layers_than_lie_at_the_grip_are_refused(way):
    with pytest.raises(LayersError, match="Fold 2 takes 3 layers, but fewer lie at the point") as caught:
        stack(BOOK, free_edge(layers=3, way=way))
    assert caught.value.fold == 2


def test_layers_are_counted_at_the_grip_and_not_elsewhere():
    """The left quarter over the next one: two layers there, a single one further right."""
    quarter = {"crease": [["1/4", 0], ["1/4", 1]], "moves": [0, 0]}
    with pytest.raises(LayersError):
        stack(quarter, free_edge(layers=2))
    assert len(stack(quarter, free_edge(layers=1))) == 3


def test_paper_lying_over_the_flap_comes_along():
    """The left quarter lies over the next one; lifting the lower edge of the sheet beneath it takes it along."""
    quarter = {"crease": [["1/4", 0], ["1/4", 1]], "moves": [0, 0]}
    up = {"crease": [[0, "1/2"], [1, "1/2"]], "moves": ["7/8", 0], "layers": 1}  # grips where only the sheet lies
    assert stack(quarter, up) == stack(quarter, up | {"layers": "all"})


def test_a_hole_through_the_flap_alone_shows_the_paper_beneath():
    """Punched through two layers at the turned-back quarter; still folded, each state shows what the eye sees."""
    read = spec(BOOK, free_edge(layers=1), punches=[{"shape": "disc", "at": ["7/8", "1/2"], "size": "1/12"}])
    solved = unfold(read)
    assert solved.layers == (1,)  # only the sheet beneath reaches this far
    (hole,) = solved.holes()
    assert hole.region.centroid.coords[0] == pytest.approx((7 / 8, 1 / 2))
    assert solved.holes(1) == ()  # the top page, laid back, hides it


def test_a_punch_through_the_flap_counts_its_layers():
    read = spec(BOOK, free_edge(layers=1), punches=[{"shape": "disc", "at": ["5/8", "1/2"], "size": "1/12"}])
    solved = unfold(read)
    assert solved.layers == (3,)
    assert sorted(round(hole.region.centroid.x, 9) for hole in solved.holes()) == [0.125, 0.375, 0.625]
