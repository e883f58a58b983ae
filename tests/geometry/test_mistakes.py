"""Mistakes as faulty openings: where their holes come to lie, worked out by hand for one fold.

The left half of a square is folded over the right one; a hole is punched at (0.7, 0.6): 0.2 from the crease x = 1/2, on
a flap 0.5 wide. That a hole and its image are equally far from the crease is common practice of the trade, with no
published source.
"""

import pytest

from geometry.mistakes import KINDS, faulty_openings
from geometry.openings import Paper, punched
from geometry.option_sets import make_options
from geometry.spec import read_spec
from geometry.teaching import work_out
from geometry.unfolding import unfold

HALF = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, "1/2"]}
LOWER = {"crease": [[0, "1/2"], [1, "1/2"]], "moves": ["1/2", 0]}
HOLE, IMAGE = (0.7, 0.6), (0.3, 0.6)


def spec_of(folds, punches):
    return {
        "version": 1,
        "sheet": {"kind": "square"},
        "folds": list(folds),
        "punches": [{"shape": s, "at": [x, y], "size": "1/8", "turn": t} for s, x, y, t in punches],
    }


def made(name, *, folds=(HALF,), number=1, punches=(("disc", "7/10", "3/5", 0),)):
    """The pictures of a kind of mistake at the opening of one fold: sorted middles of holes, and sentences."""
    unfolding = unfold(read_spec(spec_of(folds, punches)))
    paper, marks = Paper(unfolding.folded), punched(unfolding)
    for fold in range(len(folds), number, -1):
        marks = paper.opening(fold).open(marks)
    return [
        (sorted((round(m.at.real, 6), round(m.at.imag, 6)) for m in paper.open_all(one.marks, one.folds)), one.mistake)
        for one in faulty_openings(paper, marks, number, [name])
    ]


@pytest.mark.parametrize(
    ("kind", "holes"),
    [
        ("not-opened", [HOLE]),
        ("carried", [IMAGE]),
        ("slid", [(0.2, 0.6), HOLE]),  # 0.5 - 0.2 beyond the crease
        ("from-edge", [(0.2, 0.6), HOLE]),  # as far from the crease as the hole is from the paper's edge
        ("half-turn", [(0.3, 0.4), HOLE]),  # about the crease's middle, (0.5, 0.5)
    ],
)
def test_holes_lie_where_the_definition_puts_them(kind, holes):
    pictures = [picture for picture, _ in made(kind)]
    assert holes in pictures


def test_a_wrong_line_of_another_direction():
    """Mirrored in y = 1/2 the copy comes to (0.7, 0.4); in the rising diagonal to (0.6, 0.7)."""
    pictures = [picture for picture, _ in made("wrong-line")]
    assert sorted([HOLE, (0.7, 0.4)]) in pictures
    assert sorted([HOLE, (0.6, 0.7)]) in pictures


def test_a_wrong_distance_keeps_the_level():
    for picture, _ in made("wrong-distance"):
        assert {y for _, y in picture} == {0.6}
        assert IMAGE not in picture


def test_shapes_not_turned_over_lie_in_the_right_place():
    pictures = made("not-turned", punches=(("arrow", "7/10", "3/5", 30),))
    assert pictures
    for picture, mistake in pictures:
        assert len(picture) == 2
        assert mistake.fold == 1


def test_a_shape_that_mirrors_itself_cannot_show_that_it_was_not_turned():
    """Then the picture is the right one, and no set offers it: a disc; an arrow whose axis runs along the crease."""
    for shape in ("disc", "arrow"):
        pictures = [picture for picture, _ in made("not-turned", punches=((shape, "7/10", "3/5", 0),))]
        assert pictures in ([], [sorted([HOLE, IMAGE])]) or shape == "arrow"
    for seed in range(5):
        options = make_options(read_spec(spec_of((HALF, LOWER), (("disc", "7/10", "3/4", 0),))), seed)
        assert "not-turned" not in {m.kind for option in options.options for m in option.mistakes}


def test_one_of_two_copies_missed_is_named():
    pictures = made("one-missed", punches=(("disc", "7/10", "3/5", 0), ("square", "7/10", "1/5", 0)))
    assert sorted([HOLE, (0.7, 0.2), (0.3, 0.2)]) in [picture for picture, _ in pictures]
    assert {mistake.hole for _, mistake in pictures} == {0, 1}
    assert any("disc" in mistake.says for _, mistake in pictures)


def test_two_shapes_changing_places_need_two_shapes():
    assert made("swapped") == []
    assert made("swapped", punches=(("arrow", "7/10", "3/5", 0), ("square", "7/10", "1/5", 0)))


def test_wrong_order_shows_only_where_mirrors_do_not_commute():
    diagonal = {"crease": [["1/2", 0], [1, "1/2"]], "moves": [1, 0]}
    square = [picture for picture, _ in made("wrong-order", folds=(HALF, LOWER), number=2)]
    assert square in ([], [sorted([HOLE, IMAGE, (0.7, 0.4), (0.3, 0.4)])])  # square to one another, they commute
    right = sorted([(0.75, 0.4), (0.25, 0.4), (0.9, 0.25), (0.1, 0.25)])  # mirrored in y = x - 1/2, then in x = 1/2
    punch = (("disc", "3/4", "2/5", 0),)
    assert [p for p, _ in made("wrong-order", folds=(HALF, diagonal), number=2, punches=punch) if p == right] == []


@pytest.mark.parametrize("name", list(KINDS))
def test_every_kind_says_what_it_is_and_can_be_made(name):
    kind = KINDS[name]
    assert kind.label
    assert kind.definition.endswith(".")
    assert kind.needs
    corner = {"bring": [1, 1], "to": ["1/2", "3/4"]}
    tries = [
        {"folds": (HALF,), "punches": (("arrow", "7/10", "3/5", 30), ("drop", "4/5", "1/5", 75))},
        {"folds": (HALF, LOWER), "number": 2, "punches": (("arrow", "7/10", "3/4", 30), ("drop", "7/8", "5/8", 75))},
        {"folds": (HALF, corner), "number": 2, "punches": (("arrow", "7/10", "3/4", 30), ("drop", "5/8", "1/4", 75))},
        {"folds": (LOWER, corner), "number": 1, "punches": (("L-piece", "1/4", "3/4", 30), ("drop", "1/2", "3/5", 9))},
    ]
    found = [one for wanted in tries for one in made(name, **wanted)]
    assert found
    for _, mistake in found:
        assert mistake.kind == name
        assert mistake.says.endswith(".")
        assert f"old {mistake.fold}:" in mistake.says or f"olds {mistake.fold} and" in mistake.says


def test_a_notch_through_two_layers_is_one_hole():
    """Both layers of the triangle's flap lose the same piece, whichever of them the folds turned over."""
    spec = spec_of((HALF, {"crease": [["1/2", "34641/80000"], [1, "34641/80000"]], "moves": ["3/4", 0]}), ())
    punch = {"shape": "triangle", "at": ["13/16", "11/16"], "size": "1/6"}
    (hole,) = punched(unfold(read_spec(spec | {"sheet": {"kind": "triangle"}, "punches": [punch]})))
    assert not hole.cut.whole
    assert len(hole.layers) == 2


def said(name, **how):
    return {mistake.says.partition(": ")[2] for _, mistake in made(name, **how)}


def test_a_sentence_speaks_of_one_hole_or_of_several():
    two = (("disc", "7/10", "3/5", 0), ("disc", "7/10", "4/5", 0))
    assert said("not-opened") == {"no copy was made; the hole was left as it lay."}
    assert said("not-opened", punches=two) == {"no copies were made; the holes were left as they lay."}
    assert said("carried") == {"the hole was carried over with the flap, and none was left behind."}
    assert "the holes were carried over with the flap, and none was left behind." in said("carried", punches=two)
    assert "the punch was copied as if the paper had been folded once more." in said("no-second-layer")
    assert "the punches were copied as if the paper had been folded once more." in said("no-second-layer", punches=two)


def test_a_hole_that_goes_over_with_its_paper_is_no_copy():
    """A corner of the sheet is brought beyond its rim, and punched there through its one layer."""
    corner = {"bring": [0, 0], "to": ["3/4", "-1/4"]}
    how = {"folds": (corner,), "punches": (("arrow", "5/8", "-1/10", 10),)}
    assert said("not-turned", **how) == {"the hole was put in the right place, but not turned over."}


def test_only_beside_a_diagonal_is_there_another_diagonal():
    rising = {"bring": [1, 0], "to": [0, 1]}
    how = {"punches": (("arrow", "1/4", "3/5", 0),)}
    assert "the copy was mirrored in the other diagonal line, not in the crease." in said(
        "wrong-line", folds=(rising,), **how
    )
    upright = said("wrong-line", punches=(("arrow", "7/10", "3/5", 0),))
    assert "the copy was mirrored in a diagonal line, not in the crease." in upright
    assert not any("other" in sentence for sentence in upright)


def test_a_notch_that_went_wrong_is_told_of_the_fold_at_which_it_did():
    """Folded up in half, then to the right in half, and notched at the right edge: four layers, four notches.

    By hand: the punch leaves one notch in the folded paper. Opening fold 2 copies it to the left edge, and opening
    fold 1 both of them downwards, from 3/4 to 1/4. A slip at fold 2 is doubled by fold 1, so it shows an even number of
    notches: three of them are a slip at fold 1. (Counted as two holes, one a layer, it was told of fold 2.)
    """
    spec = read_spec(spec_of((LOWER, HALF), [("disc", 1, "3/4", 0)]))
    told = {}
    for candidate in work_out(unfold(spec)).candidates():
        places = [(hole.centroid.x > 1 / 2, hole.centroid.y > 1 / 2) for hole in candidate.flat.regions]
        (mistake,) = candidate.mistakes
        told[frozenset(places), len(places)] = mistake.kind, mistake.fold
    low_left, high_left, low_right, high_right = ((x, y) for x in (False, True) for y in (False, True))
    assert told[frozenset({low_left, high_left, low_right}), 3] == ("carried", 1)
    assert told[frozenset({low_left, high_left, high_right}), 3] == ("one-missed", 1)
    assert told[frozenset({low_left, high_left}), 2] == ("carried", 2)
    assert told[frozenset({low_right, high_right}), 2][1] == 2
    assert {fold for (_, count), (_, fold) in told.items() if count == 3} == {1}
