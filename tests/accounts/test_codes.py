"""Codes of the second factor: those of RFC 6238, the key as a QR symbol and to be typed."""

from __future__ import annotations

import re
from base64 import b32decode
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import cv2
import numpy as np
import pytest

from accounts import codes
from tests.accounts.conftest import KEY, NOW, code_at

# RFC 6238, appendix B, the rows of SHA-1 (T0 = 0, X = 30): eight figures, of which six are the last six, since both are
# remainders of one number (RFC 4226, section 5.3).
VECTORS = [
    (59, "94287082"),
    (1111111109, "07081804"),
    (1111111111, "14050471"),
    (1234567890, "89005924"),
    (2000000000, "69279037"),
    (20000000000, "65353130"),
]


@pytest.mark.parametrize(("seconds", "totp"), VECTORS)
def test_the_codes_are_those_of_rfc_6238(seconds, totp):
    at = datetime.fromtimestamp(seconds, UTC)
    assert code_at(at) == totp[-6:]
    assert codes.step_of(totp[-6:], KEY, at) == seconds // 30


@pytest.mark.parametrize(("early", "counts"), [(-31, False), (-30, True), (0, True), (30, True), (60, False)])
def test_a_code_counts_one_step_early_or_late(early, counts):
    """RFC 6238, section 5.2: at most one time step is allowed for delay. NOW is the first second of a step."""
    found = codes.step_of(code_at(NOW + timedelta(seconds=early)), KEY, NOW)
    assert (found is not None) == counts


@pytest.mark.parametrize(
    "typed", ["123", "12345678", "", "      ", "١٢٣٤٥٦", "-12345", "1e5000", "abcdef", "\u00b2" * 6]
)
def test_what_is_no_six_figures_is_no_code(typed):
    assert codes.step_of(typed, KEY, NOW) is None


def test_spaces_in_a_code_do_not_matter():
    code = code_at(NOW)
    assert codes.step_of(f" {code[:3]} {code[3:]} ", KEY, NOW) is not None


def test_keys_are_random_and_as_long_as_rfc_4226_advises():
    """RFC 4226, section 4, R6: at least 128 bits, 160 advised."""
    keys = {codes.new_key() for _ in range(100)}
    assert len(keys) == 100
    assert {len(key) for key in keys} == {20}


def test_the_key_typed_is_base_32():
    typed = codes.typed_key(KEY)
    assert typed == "GEZD GNBV GY3T QOJQ GEZD GNBV GY3T QOJQ"
    assert b32decode(typed.replace(" ", "")) == KEY


def test_another_reader_reads_the_square():
    """OpenCV reads the QR symbol (ISO/IEC 18004) drawn from our path, module by module."""
    address = codes.key_address(KEY, "rafe@tarnlow.example")
    size, path = codes.qr_path(address)
    modules = np.full((size, size), 255, np.uint8)
    for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", path):
        modules[int(y), int(x)] = 0
    read, _, _ = cv2.QRCodeDetector().detectAndDecode(np.kron(modules, np.ones((8, 8), np.uint8)))
    assert read == address
    parts = urlsplit(read)
    assert (parts.scheme, parts.netloc, parts.path) == ("otpauth", "totp", "/Creasemark%3Arafe%40tarnlow.example")
    assert b32decode(parse_qs(parts.query)["secret"][0]) == KEY
