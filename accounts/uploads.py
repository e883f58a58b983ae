"""The text of an uploaded file, whatever program wrote it."""

from __future__ import annotations

from accounts.errors import BadListError

MAX_BYTES = 1_000_000

# First bytes of what is not text: zip (and so spreadsheets), old spreadsheets, PDF, pictures.
NOT_TEXT = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"{\\rtf")


def decode_list(data: bytes) -> str:
    """The text of an uploaded file: UTF-8, UTF-16, or what is left, Windows-1252. Raises BadListError."""
    if len(data) > MAX_BYTES:
        raise BadListError(f"This file is larger than {MAX_BYTES:,} bytes: too large for a list of pupils.")
    if data.startswith(NOT_TEXT):
        raise BadListError(
            "This is not a text file, even if its name says so. "
            "In the spreadsheet, choose Save as, then CSV UTF-8, and upload that file."
        )
    for encoding in _encodings_of(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            raise BadListError("This is not a text file: it holds characters that no text has (U+0000).")
        return text
    raise BadListError("The letters of this file cannot be made out. Save it as CSV UTF-8, and upload that file.")


def _encodings_of(data: bytes) -> tuple[str, ...]:
    """What to try: UTF-16 alone when a byte order mark says so; first, when every other byte is zero."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ("utf-16",)
    others = ("utf-8-sig", "cp1252")
    start = data[:200]
    if len(start) < 4 or len(start) % 2:
        return others
    if not any(start[1::2]):
        return ("utf-16-le", *others)
    return ("utf-16-be", *others) if not any(start[::2]) else others
