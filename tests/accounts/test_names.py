"""Names as typed and as kept."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from accounts.models import fold_name
from accounts.names import FOLDED_LENGTH, NAME_LENGTH, BadNameError, plain_name, register_key, tidy_name, tidy_text

FAMILY = "\N{WOMAN}\u200d\N{GIRL}"


@pytest.mark.parametrize(
    "name",
    [
        "A",
        "O'Brien",
        "O’Brien",
        "Jean-Luc",
        "Fenna K.",
        "7",
        "\N{PAPERCLIP}\ufe0f",
        FAMILY,
        "=1+1",
        "@Bo",
        "<script>alert(1)</script>",
        "Иван",
        "محمد",
        "अनिल",
        "می\u200cخواهم",
        "李",
        'Seán "Johnny"',
    ],
)
def test_names_that_stay_as_they_are(name):
    assert tidy_name(name) == name


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Fenna ", "Fenna"),
        ("Fenna\tK", "Fenna K"),
        ("Fenna \u00a0 K", "Fenna K"),
        ("Fenna\r\nK", "Fenna K"),
        ("annef\u202e", "annef"),
        ("\u202bFenna\u202c", "Fenna"),
        ("\u2066Fenna\u2069", "Fenna"),
        ("\u200fFenna\u200e\u061c", "Fenna"),
        ("Fen\u200bna\ufeff", "Fenna"),
        ("Fen\u00adna", "Fenna"),
        ("Fen\x00na\x07\x1b", "Fenna"),
        ("Fen\x85na", "Fen na"),
        ("Fenna\ud800", "Fenna"),
        (unicodedata.normalize("NFD", "Zoë"), "Zoë"),
    ],
)
def test_what_does_not_show_is_removed(typed, kept):
    """The overrides are those of Unicode Standard Annex 9, section 2: U+202A to U+202E and U+2066 to U+2069."""
    assert tidy_name(typed) == kept


@pytest.mark.parametrize("typed", ["", "   ", "\u202e", "\u200d", "\n\t", "\u200c\u200d \u200b"])
def test_nothing_left_is_no_name(typed):
    with pytest.raises(BadNameError, match=r"^Write a name\.$"):
        tidy_name(typed)


def test_eighty_characters_are_kept_and_one_more_is_refused():
    assert tidy_name("x" * NAME_LENGTH) == "x" * NAME_LENGTH
    with pytest.raises(BadNameError, match="at most 80 characters; this one has 81"):
        tidy_name("x" * (NAME_LENGTH + 1))


def test_huge_name_says_how_huge():
    with pytest.raises(BadNameError, match="this one has 131,073"):
        tidy_name("x" * 131_073)


def test_name_that_grows_when_folded_is_refused():
    """U+FDFA is one character, and eighteen in form NFKC (Unicode Character Database, decompositions)."""
    assert len(fold_name("\ufdfa")) == 18
    with pytest.raises(BadNameError, match="at most 80"):
        tidy_name("\ufdfa" * 10)


@given(st.text(max_size=200))
@example("\u202e\u0308")
@example("e\u0301" * 80)
def test_every_text_becomes_a_good_name_or_is_refused(text):
    try:
        name = tidy_name(text)
    except BadNameError:
        return
    assert 0 < len(name) <= NAME_LENGTH
    assert len(fold_name(name)) <= FOLDED_LENGTH
    assert name == name.strip()
    assert not any(unicodedata.category(sign) in ("Cc", "Cs") for sign in name)
    assert not set(name) & set(map(chr, [*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0]))


@given(st.text(max_size=100))
def test_tidying_twice_is_tidying_once(text):
    assert tidy_text(tidy_text(text)) == tidy_text(text)


@given(st.text(max_size=60))
def test_tidying_does_not_change_whom_a_name_means(text):
    """Typed with or without what tidying removes, a pupil's name finds the same pupil."""
    assert fold_name(tidy_text(tidy_text(text))) == fold_name(tidy_text(text))


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("O’Brien  Zoë", "obrien zoe"),
        ("Łukasz", "lukasz"),
        ("Jean-Luc", "jean luc"),
        ("Nguyễn Thị Ánh", "nguyen thi anh"),
        ("Weiß", "weiss"),
        ("अनिल", "अनिल"),
        ("🦊", ""),
    ],
)
def test_a_name_in_plain_letters(name, plain):
    assert plain_name(name) == plain


def test_names_stand_as_in_a_register():
    """Common practice, no published source: capitals, accents and apostrophes do not move a name."""
    names = ["Zia", "Émile", "Owen", "aaron", "O’Brien", "Ella", "Łukasz", "Fox", "O'Brien", "Lou", "Lydia"]
    in_order = ["aaron", "Ella", "Émile", "Fox", "Lou", "Łukasz", "Lydia", "O'Brien", "O’Brien", "Owen", "Zia"]
    assert sorted(names, key=register_key) == in_order
