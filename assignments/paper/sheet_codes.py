"""The code on an answer sheet: it names set, assignment, paper and pupil to the site, and tells nobody else anything.

A code is 80 bits of HMAC-SHA256 under a key derived from the server's secret, in the 32 letters and digits of RFC 4648.
It is found again by working out the codes of those sheets that whoever asks could have printed.
"""

from __future__ import annotations

from base64 import b32encode
from collections.abc import Iterable
from typing import NamedTuple

import zxingcpp
from django.utils.crypto import salted_hmac

PREFIX = "CM1"
BYTES = 10
GROUP = 4


class SheetName(NamedTuple):
    """What a code stands for; 0 where nothing is named."""

    set_id: int
    assignment_id: int
    paper: int
    pupil_id: int


def code_of(sheet: SheetName) -> str:
    """Return the code in groups, as it is printed: ``CM1-ABCD-EFGH-IJKL-MNOP``."""
    digest = salted_hmac("assignments.answer_sheet", ":".join(map(str, sheet)), algorithm="sha256").digest()
    text = b32encode(digest[:BYTES]).decode()
    return "-".join([PREFIX, *(text[i : i + GROUP] for i in range(0, len(text), GROUP))])


def sheet_coded(code: str, sheets: Iterable[SheetName]) -> SheetName | None:
    """Return which of ``sheets`` the code (as typed or scanned) stands for, or ``None``."""
    wanted = _plain(code)
    return next((sheet for sheet in sheets if _plain(code_of(sheet)) == wanted), None)


def qr_svg(code: str) -> str:
    """Return the code as a QR symbol (ISO/IEC 18004), level Q, its quiet zone included; four modules are its rim."""
    return zxingcpp.create_barcode(code, zxingcpp.BarcodeFormat.QRCode, ec_level="Q").to_svg()


def _plain(code: str) -> str:
    return "".join(letter for letter in code.upper() if letter.isalnum())
