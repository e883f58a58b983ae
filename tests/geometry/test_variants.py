"""Variants: other questions of their model's structure and level, each right by a path of its own.

That retests and neighbouring papers want parallel items, alike in structure and difficulty and different in surface, is
common practice, no published source.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import replace
from io import BytesIO, TextIOWrapper

import orjson
import pytest
from sympy import Matrix

from geometry.__main__ import main
from geometry.creasing import SQUARE
from geometry.errors import OptionSetError
from geometry.fingerprints import fingerprint
from geometry.generation import generate
from geometry.option_sets import Option, OptionSet, make_options
from geometry.punching import outline_of
from geometry.shapes import SHAPES
from geometry.spec import Sheet, Spec, read_spec
from geometry.turned_specs import exact_symmetries, turned_spec
from geometry.variants import PARALLEL, variants
from tests.geometry.folded_points import is_true_answer

SPEC = read_spec(
    {
        "version": 1,
        "sheet": {"kind": "square"},
        "folds": [
            {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, "1/2"]},
            {"bring": [1, 0], "to": [1, 1], "way": "behind"},
        ],
        "punches": [
            {"shape": "heart", "at": ["3/4", "7/8"], "size": "1/10", "turn": 90},
            {"shape": "star", "at": ["5/8", "5/8"], "size": "1/10"},
        ],
    }
)


@pytest.fixture(scope="module")
def found() -> list[OptionSet]:
    return [options for _, options in variants(SPEC, 5, 3)]


def shows_truth(options: OptionSet, option: Option, sister: str | None = None) -> bool:
    spec = options.sister(sister) if sister else options.spec
    return is_true_answer(spec.to_json(), options.punches, option.holes)


def test_variants_are_as_many_other_questions(found):
    fingerprints = {options.fingerprint for options in found} | {fingerprint(SPEC)}
    assert len(found) == 5
    assert len(fingerprints) == 6
    assert all(options.fingerprint == fingerprint(options.spec) for options in found)


def test_variants_have_their_models_structure_and_level(found):
    model = make_options(SPEC, 3)
    for options in found:
        assert options.sets == "teaching"
        assert options.difficulty.level == model.difficulty.level
        assert [options.difficulty.features[n] for n in PARALLEL] == [model.difficulty.features[n] for n in PARALLEL]


def test_shapes_are_exchanged_for_shapes_of_the_same_symmetry(found):
    for options in found:
        shapes = [SHAPES[punch.shape] for punch in options.spec.punches]
        assert sorted((shape.rotations, len(shape.axes)) for shape in shapes) == [(1, 1), (5, 5)]
    assert len({punch.shape for options in found for punch in options.spec.punches}) > 2


def test_each_variant_has_one_right_answer(found):
    """Found by folding points of the sheet, which shares nothing with the making of options."""
    for options in found:
        right = [option.label for option in options.options if shows_truth(options, option)]
        assert right == [options.key]
        assert all(check.ok for check in options.checks())


def test_the_same_seed_gives_the_same_variants(found):
    again = [options.to_json() for _, options in variants(SPEC, 2, 3)]
    assert again == [options.to_json() for options in found[:2]]
    assert again != [options.to_json() for _, options in variants(SPEC, 2, 4)]


def test_variants_of_a_lot_are_lots_with_the_same_mistakes():
    """Seen from each of the five, so that again each could have been the key."""
    (_, model), *_ = generate(count=1, seed=8)
    ((_, options),) = variants(model, 1, 3)
    assert (options.sets, options.grid.family) == ("lot", model.grid.family)
    assert options.option(options.key).cell == model.option(model.key).cell
    assert options.fingerprint != model.fingerprint
    assert kinds(options) == kinds(model)
    for option in options.options:
        assert shows_truth(replace(options, punches=outlines(options.sister(option.label))), option, option.label)
    assert all(check.ok for check in options.checks())


def kinds(options: OptionSet) -> Counter[str]:
    return Counter(mistake.kind for option in options.options for mistake in option.mistakes)


def outlines(spec: Spec) -> tuple:
    return tuple(tuple(map(tuple, outline_of(punch).tolist())) for punch in spec.punches)


def test_a_lot_stored_without_its_sisters_says_so():
    (_, model), *_ = generate(count=1, seed=8)
    with pytest.raises(OptionSetError, match="sister"):
        variants(replace(model, grid=None), 1)


def test_a_question_without_parallels_says_so():
    nowhere = {"shape": "disc", "at": ["1/2", "1/2"], "size": "1/3"}
    spec = read_spec(
        {"version": 1, "sheet": {"kind": "square"}, "folds": [SPEC.folds[0].to_json()], "punches": [nowhere]}
    )
    with pytest.raises(OptionSetError, match=r"\.$"):
        variants(spec, 2)


def test_the_square_has_eight_symmetries_a_rectangle_four_and_a_scalene_triangle_one():
    """The dihedral group of the square (order 8) and Klein's four-group: textbook facts, from memory."""
    triangle = Sheet("polygon", points=((0, 0), (3, 0), (1, 2)))
    assert len(exact_symmetries(SQUARE)) == 8
    assert len(exact_symmetries(Sheet("rectangle", height=SPEC.punches[0].size * 7))) == 4
    assert len(exact_symmetries(triangle)) == 1


def test_symmetries_are_orthogonal_maps():
    """Against sympy: the linear part times its transpose is the identity."""
    for motion in exact_symmetries(SQUARE):
        linear = Matrix(motion.linear)
        assert linear * linear.T == Matrix.eye(2)
        assert (linear.det() == -1) == motion.turns_over


def test_a_question_turned_or_mirrored_with_its_sheet_is_the_same_question():
    for motion in exact_symmetries(SQUARE):
        turned = turned_spec(SPEC, motion)
        assert fingerprint(turned) == fingerprint(SPEC)
        options = make_options(turned, 1)
        assert shows_truth(options, options.option(options.key))


def test_a_chiral_shape_is_turned_but_not_mirrored():
    spec = read_spec(SPEC.to_json() | {"punches": [{"shape": "L-piece", "at": ["3/4", "3/4"]}]})
    kept = [motion for motion in exact_symmetries(SQUARE) if turned_spec(spec, motion) is not None]
    assert len(kept) == 4
    assert not any(motion.turns_over for motion in kept)


def test_the_command_varies_each_line_and_goes_on_after_a_bad_one(monkeypatch, capfdbinary):
    lines = [orjson.dumps(SPEC.to_json()), b"{}", orjson.dumps(make_options(SPEC, 1).to_json())]
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(b"\n".join(lines))))
    assert main(["variants", "--count", "2", "--seed", "5"]) == 0
    out = [orjson.loads(line) for line in capfdbinary.readouterr().out.splitlines()]
    assert [(line["of"], line["ok"]) for line in out] == [(1, True), (1, True), (2, False), (3, True), (3, True)]
    assert out[2]["error"].endswith(".")
