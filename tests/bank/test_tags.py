from __future__ import annotations

import pytest

from accounts.models import School
from bank.errors import TagError
from bank.models import Tag
from bank.services.tags import read_tags, set_tags
from tests.bank.factories import make_question

pytestmark = pytest.mark.each_database


def test_one_spelling_for_each_tag() -> None:
    assert read_tags([" Corner  fold", "corner fold", "", "  ", "THIRDS"]) == ["corner fold", "thirds"]


def test_composed_and_decomposed_letters_are_one_tag() -> None:
    # Unicode Standard Annex 15: e + combining acute composes to é under NFC.
    assert read_tags(["pliée", "plie\u0301e"]) == ["pliée"]


@pytest.mark.parametrize(
    ("names", "says"),
    [
        (["x" * 41], r'A tag has 40 characters at most: "x{20}…" has 41\.'),
        (["a\x00b"], r"The tag 'a\\x00b' has a character that cannot be seen\."),
        (["\u202egnp"], "has a character that cannot be seen"),  # right-to-left override
        ([f"tag {n}" for n in range(13)], "A question has 12 tags at most; here are 13."),
    ],
)
def test_what_cannot_be_a_tag_is_said(names: list[str], says: str) -> None:
    with pytest.raises(TagError, match=says):
        read_tags(names)


def test_setting_tags_replaces_them_and_makes_what_is_new(school: School, other_school: School) -> None:
    Tag.objects.create(school=other_school, name="thirds")
    question = make_question(school, tags=["halves", "thirds"])
    set_tags(question=question, names=["thirds", "<b>bold</b>"])
    assert [tag.name for tag in question.tags.all()] == ["<b>bold</b>", "thirds"]
    assert {tag.school for tag in question.tags.all()} == {school}
    assert Tag.objects.filter(school=school, name="thirds").count() == 1
