"""The text of uploaded files, in every encoding that spreadsheets write."""

from __future__ import annotations

import contextlib
import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.errors import BadListError
from accounts.pupil_lists import read_list
from accounts.uploads import MAX_BYTES, decode_list

TEXT = "Name,Extra time\r\nZoë,25\r\nSeán O'Brien,\r\n"
NOT_TEXT = "This is not a text file, even if its name says so."


@pytest.mark.parametrize(
    "data",
    [
        TEXT.encode("utf-8"),
        TEXT.encode("utf-8-sig"),
        TEXT.encode("utf-16"),
        b"\xff\xfe" + TEXT.encode("utf-16-le"),
        b"\xfe\xff" + TEXT.encode("utf-16-be"),
        TEXT.encode("utf-16-le"),
        TEXT.encode("utf-16-be"),
        TEXT.encode("cp1252"),
    ],
    ids=["utf-8", "utf-8 bom", "utf-16", "utf-16-le bom", "utf-16-be bom", "utf-16-le", "utf-16-be", "cp1252"],
)
def test_one_text_in_eight_encodings(data):
    assert decode_list(data) == TEXT
    assert [(row.name, row.extra_time) for row in read_list(decode_list(data)).rows] == [
        ("Zoë", 25),
        ("Seán O'Brien", 0),
    ]


def test_bytes_of_windows_1252():
    """0x80 is the euro sign and 0x92 the right single quotation mark (Unicode's mapping table CP1252.TXT)."""
    assert decode_list(b"O\x92Brien \x80\xe9") == "O\u2019Brien \u20acé"


@pytest.mark.parametrize("undefined", [0x81, 0x8D, 0x8F, 0x90, 0x9D])
def test_bytes_that_windows_1252_does_not_have(undefined):
    """The five bytes that the same table leaves undefined."""
    with pytest.raises(BadListError, match=r"^The letters of this file cannot be made out\. Save it as CSV UTF-8"):
        decode_list(b"Zo\xeb" + bytes([undefined]))


def spreadsheet():
    """A file as a spreadsheet program writes it: a zip archive of XML parts, whatever it is called."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/worksheets/sheet1.xml", "<worksheet/>")
    return file.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        spreadsheet(),
        bytes.fromhex("d0cf11e0a1b11ae1") + bytes(500),
        b"%PDF-1.7\n%\xe2\xe3",
        b"\x89PNG\r\n\x1a\n",
        b"\xff\xd8\xff\xe0",
        b"GIF89a",
        b"{\\rtf1\\ansi Aldin}",
    ],
    ids=["zip", "compound file", "pdf", "png", "jpeg", "gif", "rtf"],
)
def test_files_of_another_kind_are_told_by_their_first_bytes(data):
    with pytest.raises(BadListError) as refused:
        decode_list(data)
    assert str(refused.value) == (
        "This is not a text file, even if its name says so. "
        "In the spreadsheet, choose Save as, then CSV UTF-8, and upload that file."
    )


def test_a_file_of_the_largest_size_and_one_byte_more():
    assert len(decode_list(b"a" * MAX_BYTES)) == MAX_BYTES
    with pytest.raises(BadListError, match="larger than 1,000,000 bytes: too large for a list of pupils"):
        decode_list(b"a" * (MAX_BYTES + 1))


@pytest.mark.parametrize("data", [b"", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff"])
def test_an_empty_file_is_an_empty_text(data):
    assert decode_list(data) == ""


@pytest.mark.parametrize("data", [b"Al\0din", b"\0\0\0\0", b"\xff\xfea", bytes(range(32)) * 4])
def test_zero_bytes_that_are_no_utf_16_are_refused_when_read(data):
    with pytest.raises(BadListError):
        read_list(decode_list(data))


def test_half_a_character_of_utf_16_is_refused():
    with pytest.raises(BadListError):
        read_list(decode_list(b"\xff\xfe\x00\xd8A\x00"))


@given(st.binary(max_size=300))
def test_no_file_is_too_strange(data):
    """Every file is a list or is refused: with no other error, whatever its bytes."""
    with contextlib.suppress(BadListError):
        assert read_list(decode_list(data)).rows


@given(st.text(st.characters(codec="utf-8", exclude_characters="\0\ufeff"), min_size=1, max_size=80))
def test_utf_8_and_marked_utf_16_are_read_as_they_were_written(text):
    assert decode_list(text.encode("utf-8-sig")) == text
    assert decode_list(text.encode("utf-16")) == text
