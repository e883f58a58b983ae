"""What pages ask for: pictures of many versions in one query, drawn on the spot where none are stored."""

from __future__ import annotations

import pytest

from accounts.models import School
from bank.display import (
    LETTERS,
    marked_pictures,
    option_pictures,
    option_says,
    pictures_for,
    stem_pictures,
    step_pictures,
)
from bank.drawing import Kind
from tests.bank.factories import DIAGONAL, HALVES, keep_drawings, make_question


def test_stored_and_drawn_on_the_spot_are_the_same(school: School) -> None:
    question = make_question(school, spec=DIAGONAL)
    version = question.current
    drawn = pictures_for([version])[version.pk]
    keep_drawings(question)
    stored = pictures_for([version])[version.pk]
    for kind in ("stem", "options", "steps", "thumbs"):
        assert [p.svg for p in getattr(stored, kind)] == [p.svg for p in getattr(drawn, kind)]
        assert all(p.pk for p in getattr(stored, kind))
        assert not any(p.pk for p in getattr(drawn, kind))


def test_only_what_is_missing_is_drawn(school: School) -> None:
    question = make_question(school)
    version = question.current
    keep_drawings(question)
    version.pictures.get(kind="step", place=1).delete()
    shown = pictures_for([version])[version.pk]
    assert all(p.pk for p in shown.stem + shown.options)
    assert [p.place for p in shown.steps] == [2, 1, 0]


def test_any_number_of_versions_in_one_query(school: School, django_assert_num_queries) -> None:
    questions = [make_question(school, spec=spec) for spec in (HALVES, DIAGONAL, HALVES)]
    versions = [question.current for question in questions]
    for question in questions:
        keep_drawings(question)
    with django_assert_num_queries(1):
        shown = pictures_for(versions, [Kind.THUMB])
    assert [len(shown[version.pk].thumbs) for version in versions] == [3, 4, 3]
    assert all(pictures.stem == () for pictures in shown.values())


def test_stem_and_steps_stand_in_the_order_they_are_made(school: School) -> None:
    version = make_question(school, spec=DIAGONAL).current
    titles = [picture.title for picture in stem_pictures(version)]
    assert titles == ["Fold 1", "Fold 2", "Fold 3", "Folded and punched"]
    titles = [picture.title for picture in step_pictures(version)]
    assert titles == ["Folded and punched", "Opening fold 3", "Opening fold 2", "Opening fold 1"]


@pytest.mark.parametrize("order", ["ABCDE", "CADBE", "EDCBA"])
def test_options_stand_as_the_pupil_has_them(school: School, order: str) -> None:
    version = make_question(school).current
    own = option_pictures(version)
    assert [p.svg for p in option_pictures(version, order)] == [own[LETTERS.index(letter)].svg for letter in order]


def test_every_wrong_option_says_its_mistake_and_the_key_that_it_is_right(school: School) -> None:
    version = make_question(school).current
    says = {letter: option_says(version, letter) for letter in LETTERS}
    assert says[version.key] == "The sheet unfolded: right at every fold."
    wrong = [sentence for letter, sentence in says.items() if letter != version.key]
    assert all("pening fold" in sentence and sentence.endswith(".") for sentence in wrong)


def test_marked_options_ring_what_is_wrong(school: School) -> None:
    version = make_question(school).current
    for letter, picture in zip(LETTERS, marked_pictures(version), strict=True):
        assert picture.title == f"Option {letter}, {'right' if letter == version.key else 'marked'}"
