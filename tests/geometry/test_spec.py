"""Reading specs: what is read comes back the same, and everything else is refused in a sentence that says where."""

import json
import time
from contextlib import suppress
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.errors import GeometryError, SpecError
from geometry.spec import read_spec
from geometry.unfolding import unfold

SQUARE = {"kind": "square"}
FOLD = {"bring": [0, 0], "to": [1, 1]}
PUNCH = {"shape": "disc", "at": ["3/4", "3/4"]}


def spec(*, sheet=SQUARE, folds=(FOLD,), punches=(PUNCH,), **more):
    return {"version": 1, "sheet": sheet, "folds": list(folds), "punches": list(punches), **more}


def refused(data) -> SpecError:
    started = time.perf_counter()
    with pytest.raises(SpecError) as caught:
        read_spec(data)
    assert time.perf_counter() - started < 1
    assert str(caught.value).endswith(".")
    return caught.value


def test_rational_strings_and_numbers_are_exact():
    read = read_spec(spec(folds=[{"crease": [["1/3", 0], [0.5, 1]], "moves": [0, 0]}]))
    assert read.folds[0].crease == ((F(1, 3), F(0)), (F(1, 2), F(1)))
    assert read_spec(spec(punches=[PUNCH | {"size": 0.1}])).punches[0].size == F(0.1)  # the rational that it is


@pytest.mark.parametrize(
    "data",
    [
        spec(),
        spec(sheet={"kind": "rectangle", "width": 1, "height": "7/5"}),
        spec(sheet={"kind": "polygon", "points": [[0, 0], [1, 0], ["1/2", 1]]}, folds=[]),
        spec(folds=[{"crease": [[0, 0], [1, 1]], "moves": [1, 0], "way": "behind", "layers": 2}]),
        spec(punches=[PUNCH | {"shape": "L-piece", "turn": 22.5}]),
        spec(punches=[PUNCH | {"shape": "outline", "points": [[0, "1/2"], ["-1/2", 0], ["1/2", 0]]}]),
        *(spec(sheet={"kind": kind}, folds=[]) for kind in ("triangle", "hexagon", "disc")),
    ],
)
def test_what_is_written_reads_back_equal(data):
    read = read_spec(data)
    written = read.to_json()
    assert read_spec(written) == read
    assert read_spec(json.dumps(written)) == read
    assert read_spec(json.dumps(written).encode()).to_json() == written


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("no json", "The spec is not valid JSON."),
        ("", "The spec is not valid JSON."),
        (b"\xff\xfe", "The spec is not valid JSON."),
        ("[]", "The spec must be an object with named fields."),
        (json.dumps(spec()).replace('"version": 1', '"version": 2'), "The spec's version must be 1."),
        (json.dumps(spec()).replace('"version": 1', '"version": true'), "The spec's version must be 1."),
        (spec(colour="red"), "The spec has no field “colour”."),
        ({"version": 1}, "The spec lacks the field “sheet”."),
        (
            '{"version": 1, "version": 1, "sheet": {"kind": "square"}}',
            "The field “version” stands twice in one object.",
        ),
        (json.dumps(spec(punches=[PUNCH | {"size": float("nan")}])), "NaN is not a number that a spec can hold."),
        ("[" * 50_000, "The spec is nested too deeply."),
        ("[" * 100_000, "The spec is longer than 60,000 characters."),
        (spec(folds=[FOLD] * 10_000), "There are 10,000 folds; at most 8 can be read."),
        (spec(punches=[PUNCH] * 1_000), "There are 1,000 punches; at most 24 can be read."),
        (spec() | {"folds": {"a": 1}}, "The folds must be a list."),
        (spec(sheet={"kind": "pentagon"}), None),
        (spec(sheet={"kind": "square", "width": 1}), "A square sheet takes nothing but its kind."),
        (spec(sheet={"kind": "rectangle", "width": 1, "height": 0}), None),
        (spec(sheet={"kind": "polygon", "points": [[0, 0], [1, 0]]}), "A polygon sheet needs at least three points."),
        (spec(sheet={"kind": "polygon", "points": [[0, 0], [1, 1], [1, 0], [0, 1]]}), None),
        (spec(sheet={"kind": "polygon", "points": [[0, 0], [1, 1], [2, 2]]}), None),
        (spec(sheet={"kind": "polygon", "points": [[0, 0]] * 1_000_000}), None),
    ],
)
def test_specs_and_sheets_that_are_refused(data, says):
    error = refused(data)
    assert (error.fold, error.punch) == (None, None)
    if says:
        assert str(error) == says


@pytest.mark.parametrize(
    ("fold", "says"),
    [
        ({}, "Fold 2 needs either a crease with the side that moves, or a point to bring and where to."),
        ({"crease": [[0, 0], [1, 1]]}, None),
        (FOLD | {"moves": [0, 0]}, None),
        (FOLD | {"way": "sideways"}, "Fold 2 goes “over” or “behind”, nothing else."),
        (FOLD | {"layers": 0}, "Fold 2 takes “all” layers or a whole number of them, 1 or more."),
        (FOLD | {"layers": 2.5}, "Fold 2 takes “all” layers or a whole number of them, 1 or more."),
        (FOLD | {"layers": True}, "Fold 2 takes “all” layers or a whole number of them, 1 or more."),
        ({"bring": [0, 0], "to": [1]}, "Fold 2: to must be two numbers."),
        ({"bring": ["1/0", 0], "to": [1, 1]}, "Fold 2: bring: nothing can be divided by 0."),
        ({"bring": ["1e5000000", 0], "to": [1, 1]}, None),
        ({"bring": ["9" * 5000, 0], "to": [1, 1]}, None),
        ({"bring": [" 1/2 ", 0], "to": [1, 1]}, None),
        ({"bring": ["1_0/3", 0], "to": [1, 1]}, None),
        ({"bring": ["\u0661/\u0662", 0], "to": [1, 1]}, None),
        ({"bring": [10**400, 0], "to": [1, 1]}, None),
        ({"bring": [1e308, 0], "to": [1, 1]}, "Fold 2: bring must lie between -100 and 100."),
        ({"bring": [5e-324, 0], "to": [1, 1]}, "Fold 2: bring is finer than can be drawn."),
        ({"bring": [None, 0], "to": [1, 1]}, None),
        ({"bring": [True, 0], "to": [1, 1]}, None),
        ("up", "Fold 2 must be an object with named fields."),
    ],
)
def test_folds_that_are_refused_name_their_number(fold, says):
    error = refused(spec(folds=[FOLD, fold]))
    assert (error.fold, error.punch) == (2, None)
    if says:
        assert str(error) == says


@pytest.mark.parametrize(
    ("punch", "says"),
    [
        ({"shape": "disc"}, "Punch 2 lacks the field “at”."),
        (PUNCH | {"size": 0}, "Punch 2: the size must lie between 1/1000 and 1."),
        (PUNCH | {"size": -1}, "Punch 2: the size must lie between 1/1000 and 1."),
        (PUNCH | {"size": 5}, "Punch 2: the size must lie between 1/1000 and 1."),
        (PUNCH | {"shape": "ghost"}, None),
        (PUNCH | {"shape": ["disc"]}, None),
        (PUNCH | {"turn": float("nan")}, None),
        (PUNCH | {"turn": float("inf")}, None),
        (PUNCH | {"shape": "outline"}, "Punch 2: points belong to the shape “outline”, and to no other."),
        (PUNCH | {"shape": "outline", "points": [[0, 0], [1, 1]]}, None),
        (PUNCH | {"shape": "outline", "points": [[0, 0], [1, 1], [1, 0], [0, 1]]}, None),
        (PUNCH | {"at": ["\x00", 0]}, None),
        (PUNCH | {"\ud800": 1}, None),
    ],
)
def test_punches_that_are_refused_name_their_number(punch, says):
    error = refused(spec(punches=[PUNCH, punch]))
    assert (error.fold, error.punch) == (None, 1)
    if says:
        assert str(error) == says
    str(error).encode()  # whatever was typed, the sentence can be shown


@pytest.mark.parametrize(
    ("folds", "fold"),
    [
        ([{"crease": [[0, 0], [0, 0]], "moves": [1, 0]}], 1),
        ([{"crease": [[0, 0], [1, 1]], "moves": ["1/2", "1/2"]}], 1),
        ([{"crease": [[2, 0], [2, 1]], "moves": [0, 0]}], 1),
        ([{"crease": [[1, 0], [1, 1]], "moves": [0, 0]}], 1),
        ([FOLD, {"bring": ["1/2", 1], "to": ["1/2", 1]}], 2),
        ([FOLD | {"layers": 99}], 1),
        ([{"crease": [["1/2000", 0], ["1/2000", 1]], "moves": [0, 0]}], 1),
    ],
)
def test_impossible_folds_are_refused_when_folded(folds, fold):
    with pytest.raises(GeometryError) as caught:
        unfold(read_spec(spec(folds=folds, punches=[])))
    assert caught.value.fold == fold
    assert f"old {fold}" in str(caught.value)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
field_names = st.sampled_from(["version", "sheet", "folds", "punches", "kind", "bring", "to", "at", "shape", "size"])


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(field_names, json_values, max_size=5))
def test_anything_is_read_or_refused(data):
    with suppress(SpecError):
        assert read_spec({"version": 1, "sheet": SQUARE} | data).sheet.outline


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data):
    with pytest.raises(SpecError):
        read_spec(data)


@settings(max_examples=100, deadline=None)
@given(json_values, st.sampled_from(["bring", "to", "way", "layers"]))
def test_any_value_in_a_fold_is_read_or_refused_with_its_number(value, name):
    try:
        read_spec(spec(folds=[FOLD, FOLD | {name: value}]))
    except SpecError as error:
        where = error.fold
    else:
        where = 2
    assert where == 2
