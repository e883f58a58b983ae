"""What is said of folds, punches and openings: right, plain, and of the question's own pictures never a hint."""

from __future__ import annotations

import re

import pytest

from geometry.pictures import draw_option, draw_stem, draw_steps
from geometry.spec import read_spec
from geometry.unfolding import unfold
from geometry.words import count_holes, describe_fold, describe_punches, listed, number, say_opening
from tests.geometry.gallery import FALLING, GALLERY, LEVEL, RISING, UPRIGHT, at_random, drawn, punch, spec


def folded(*folds, punches=(), sheet=None):
    return unfold(read_spec(spec(*folds, punches=list(punches), sheet=sheet)))


@pytest.mark.parametrize(
    ("fold", "said"),
    [
        ({"crease": UPRIGHT, "moves": [0, 0]}, "The left half is folded to the right over an upright crease."),
        ({"crease": UPRIGHT, "moves": [1, 0]}, "The right half is folded to the left over an upright crease."),
        ({"crease": LEVEL, "moves": [0, 0]}, "The bottom half is folded up over a level crease."),
        ({"crease": LEVEL, "moves": [0, 1]}, "The top half is folded down over a level crease."),
        (
            {"crease": [["3/4", 0], ["3/4", 1]], "moves": [1, 0]},
            "The right edge is folded to the left over an upright crease.",
        ),
        (
            {"crease": RISING, "moves": [1, 0]},
            "The bottom right half is folded up and to the left over a diagonal crease rising to the right.",
        ),
        (
            {"crease": FALLING, "moves": [1, 1], "way": "behind"},
            "The top right half is folded down and to the left, behind the rest, "
            "along a diagonal crease falling to the right.",
        ),
        (
            {"bring": [0, 0], "to": ["1/2", "1/4"]},
            "The bottom left corner is folded up and to the right over a slanting crease.",
        ),
        (
            {"bring": [0, 1], "to": ["1/4", "3/4"]},
            "The top left corner is folded down and to the right over a diagonal crease rising to the right.",
        ),
    ],
)
def test_a_fold_is_told_as_it_is_seen(fold, said):
    assert describe_fold(folded(fold), 1) == said


def test_a_corner_is_named_by_where_it_lies_on_the_paper():
    """Fold 1 takes the sheet's bottom right away; what then lies lowest is its bottom left, though the crease rises."""
    first = {"bring": [1, 0], "to": ["1/4", 1]}
    second = {"crease": [[0, "1/3"], [1, "1/2"]], "moves": ["3/10", 0]}
    said = "The bottom left corner is folded up and to the left over a slanting crease."
    assert describe_fold(folded(first, second), 2) == said


def test_the_layers_taken_are_told():
    unfolding = folded(
        {"crease": UPRIGHT, "moves": [0, 0]},
        {"crease": [["3/4", 0], ["3/4", 1]], "moves": [1, "1/2"], "layers": 1},
        {"crease": LEVEL, "moves": ["3/5", 0], "layers": 3, "way": "behind"},
    )
    assert describe_fold(unfolding, 2).startswith("The top layer of the right half is folded to the left")
    assert describe_fold(unfolding, 3).startswith("The back three layers of the bottom half are folded up, behind")


def test_punches_are_told_with_their_place_on_the_sheet():
    unfolding = folded(
        {"crease": UPRIGHT, "moves": [0, 0]},
        punches=[punch("arrow", "5/6", "5/6"), punch("L-piece", "5/8", "1/2"), punch("disc", "3/4", "1/8")],
    )
    assert describe_punches(unfolding) == (
        "The folded sheet is punched through with an arrow at the top right of the sheet, "
        "an L-piece in the middle of the sheet and a disc at the bottom right of the sheet."
    )


@pytest.mark.parametrize(
    ("crease", "moves", "at", "direction", "turn"),
    [
        (UPRIGHT, [0, 0], ["3/4", "4/5"], "upright", "from left to right"),
        (LEVEL, [0, 0], ["3/4", "4/5"], "level", "from top to bottom"),
        (RISING, [1, 0], ["1/4", "3/5"], "diagonal, rising to the right", "across the diagonal"),
        (FALLING, [0, 0], ["3/4", "4/5"], "diagonal, falling to the right", "across the diagonal"),
        ([["1/4", 0], ["3/4", 1]], [0, 1], ["3/4", "4/5"], "slanting", "across the slant"),
    ],
)
def test_an_opening_names_the_crease_the_turn_and_the_count(crease, moves, at, direction, turn):
    unfolding = folded({"crease": crease, "moves": moves}, punches=[punch("heart", *at, "1/10")])
    assert say_opening(unfolding, 1) == (
        f"The crease is {direction}. The heart is mirrored in it, as far away on the other side, "
        f"and turned over {turn}. The sheet lies flat again, with two holes."
    )


def test_of_discs_no_turning_is_told():
    unfolding = folded({"crease": UPRIGHT, "moves": [0, 0]}, punches=[punch("disc", "3/4", "1/2")])
    assert "turned over" not in say_opening(unfolding, 1)


def test_holes_on_paper_that_does_not_open_are_not_copied():
    unfolding = drawn("corner")
    assert say_opening(unfolding, 1) == (
        "No hole lies on the paper that opens, so nothing changes. The sheet lies flat again, with one hole."
    )


def test_a_hole_that_goes_over_alone_leaves_no_copy():
    assert "The star goes over with its paper, and leaves no copy behind." in say_opening(drawn("flap"), 1)


def test_a_shape_on_the_crease_opens_out():
    assert "The half-disc is opened out across it, the same on both sides." in say_opening(drawn("across"), 1)


def test_the_count_told_is_the_count_of_holes():
    for unfolding in at_random(30):
        for fold in range(len(unfolding.folded.creases), 0, -1):
            expected = count_holes(len(unfolding.holes(fold - 1)))
            assert re.search(rf"\b{expected}\.$", say_opening(unfolding, fold))


def test_numbers_and_lists():
    assert [number(n) for n in (0, 1, 12, 13)] == ["no", "one", "twelve", "13"]
    assert [count_holes(n) for n in (0, 1, 2)] == ["no holes", "one hole", "two holes"]
    assert [listed(list("abc")[:n]) for n in (1, 2, 3)] == ["a", "a and b", "a, b and c"]


# --- nothing given away ---------------------------------------------------------------------------------------------

FOLDING = (
    "folded punched sheet paper rest crease half edge corner layer layers top bottom left right middle up down back"
)
CREASES = "upright level diagonal slanting rising falling"
SHAPES = "disc half-disc triangle square rectangle heart star cross arrow drop crescent l-piece shape"
SMALL = "the a an is are and of in at to with over behind along through one two three four five six seven eight"
STEM_WORDS = {word for words in (FOLDING, CREASES, SHAPES, SMALL) for word in words.split()}


def words_of(text: str) -> set[str]:
    return set(re.findall(r"[a-z][a-z-]*", text.lower()))


def test_a_stem_is_told_in_words_for_folds_and_punches_only():
    """No word for holes, copies, mirrors, mistakes or the key can occur, so no hint of the answer can be given."""
    for unfolding in [drawn(name) for name in GALLERY] + at_random(40):
        for description in stem_told(unfolding):
            assert words_of(description) <= STEM_WORDS


def stem_told(unfolding):
    folds = range(1, len(unfolding.folded.creases) + 1)
    return [*(describe_fold(unfolding, k) for k in folds), describe_punches(unfolding)]


def test_these_words_are_what_the_pictures_carry():
    for name in GALLERY:
        assert [picture.description for picture in draw_stem(drawn(name))] == stem_told(drawn(name))


def test_a_stem_is_told_alike_whatever_layers_the_punch_meets():
    """The same punch at the same place through one layer or two is told in the same words."""
    through = [folded({"bring": [0, 0], "to": [to, to]}, punches=[punch("disc", 0.3, 0.3)]) for to in ("1/2", "1/4")]
    assert [unfolding.layers for unfolding in through] == [(2,), (1,)]
    assert len({describe_punches(unfolding) for unfolding in through}) == 1


def test_options_of_one_count_are_told_in_the_same_words():
    unfolding = drawn("three")
    holes = [hole.region for hole in unfolding.holes()]
    said = {draw_option(unfolding.spec.sheet, holes[i:] + holes[:i]).description for i in range(3)}
    said |= {draw_option(unfolding.spec.sheet, list(reversed(holes))).description}
    assert said == {"A sheet of paper with eight holes."}


def test_pupils_words_are_short():
    for unfolding in [drawn(name) for name in GALLERY]:
        for picture in [*draw_stem(unfolding), *draw_steps(unfolding)]:
            for sentence in re.split(r"(?<=\.) ", picture.description):
                assert len(sentence.split()) <= 45
            assert picture.description.endswith(".")
            assert "  " not in picture.description
