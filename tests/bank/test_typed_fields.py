"""Numbers and points as teachers type them, and the sentence when they cannot be read."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from bank.forms.fields import PointsField, read_number, read_point


@pytest.mark.parametrize(
    ("typed", "read"),
    [("3/8", "3/8"), ("0.375", "3/8"), ("6/16", "3/8"), (" 1 ", "1"), ("-0.5", "-1/2"), ("0", "0")],
)
def test_numbers_are_exact(typed: str, read: str) -> None:
    assert read_number(typed) == read


@pytest.mark.parametrize(
    "typed",
    ["", "x", "1/0", "1_0/3", "٣", "1e5", "1e5000000", "NaN", "inf", "1/2/3", "1 /2", "½", "--1", "0." + "1" * 99],
)
def test_what_is_no_number_is_named(typed: str) -> None:
    with pytest.raises(ValidationError) as refused:
        read_number(typed)
    assert refused.value.messages == [f"“{typed.strip()[:20]}” is no number. Type one like 3/8 or 0.375."]


def test_a_number_out_of_bounds_says_the_bounds() -> None:
    with pytest.raises(ValidationError, match="must lie between -100 and 100"):
        read_number("101")


@pytest.mark.parametrize("typed", ["3/8, 3/4", "3/8 3/4", "(3/8, 3/4)", "0.375;0.75", "[3/8,3/4]"])
def test_points_may_be_written_in_any_usual_way(typed: str) -> None:
    assert read_point(typed) == ["3/8", "3/4"]


@pytest.mark.parametrize("typed", ["3/8", "1, 2, 3", ","])
def test_what_is_no_point_is_named(typed: str) -> None:
    with pytest.raises(ValidationError, match=r"is no point\. Type two numbers, like 3/8, 3/4\."):
        read_point(typed)


def test_points_name_the_line_in_fault() -> None:
    with pytest.raises(ValidationError, match="Line 2: “x” is no number"):
        PointsField().clean("0, 0\n1, x\n")
