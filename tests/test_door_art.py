"""The picture at the door is a true one: its holes are what our geometry unfolds, and no piece is missing."""

from fractions import Fraction

from django.template.loader import render_to_string

from geometry.pictures.frame import frame_of
from geometry.pictures.outlines import outline_path
from geometry.spec import read_spec
from geometry.unfolding import unfold

SPEC = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"bring": ["0", "1"], "to": ["1", "1"]}, {"bring": ["1/2", "1"], "to": ["1", "1/2"]}],
    "punches": [
        {"shape": "heart", "at": ["6/7", "5/8"], "size": "1/8"},
        {"shape": "half-disc", "at": ["5/8", "1/3"], "size": "1/7", "turn": -20},
        {"shape": "arrow", "at": ["7/8", "1/6"], "size": "1/7", "turn": -45},
    ],
}


def test_the_sheet_at_the_door_shows_the_holes_of_its_folds():
    unfolding = unfold(read_spec(SPEC))
    holes = outline_path(frame_of(unfolding.spec.sheet), [hole.region for hole in unfolding.holes(0)])
    assert holes in render_to_string("parts/door_art.html")


def test_each_layer_under_a_punch_gave_one_piece_half_of_them_turned():
    art = render_to_string("parts/door_art.html")
    layers = sum(unfold(read_spec(SPEC)).layers)
    assert art.count('<path class="front"') + art.count('<path class="turned"') == layers
    assert Fraction(art.count('<path class="turned"'), layers) == Fraction(1, 2)
