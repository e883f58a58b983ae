"""Codes of the second factor: those of a generator (TOTP, RFC 6238), those for recovery, and the QR symbol.

The numbers are RFC 6238's and the usual ones, which every generator knows: SHA-1, steps of 30 seconds, six figures.
A code is also taken one step early or late, for clocks that differ (section 5.2).
"""

from __future__ import annotations

import re
import secrets
from base64 import b32encode
from datetime import datetime
from urllib.parse import quote

import numpy as np
import zxingcpp
from django_otp.oath import TOTP

KEY_BYTES = 20  # as long as SHA-1's result (RFC 4226, section 4, R6)
STEP = 30  # seconds
FIGURES = 6
DRIFT = (-1, 0, 1)
RECOVERY_CODES = 10
RECOVERY_LETTERS = "BCDFGHJKLMNPQRSTVWXYZ23456789"  # 29 signs, 12 of them: 58 bits


def new_key() -> bytes:
    return secrets.token_bytes(KEY_BYTES)


def typed_key(key: bytes) -> str:
    """The key in base 32 (RFC 4648), in fours, for whoever types it."""
    text = b32encode(key).decode()
    return " ".join(text[start : start + 4] for start in range(0, len(text), 4))


def key_address(key: bytes, account: str) -> str:
    """What the QR symbol says: the ``otpauth`` address that generators read."""
    secret = b32encode(key).decode()
    label = quote(f"Creasemark:{account}", safe="")
    return f"otpauth://totp/{label}?secret={secret}&issuer=Creasemark&algorithm=SHA1&digits={FIGURES}&period={STEP}"


def step_of(code: str, key: bytes, at: datetime) -> int | None:
    """The number of the 30 seconds to which this code belongs, at most one from now; None for a wrong code."""
    figures = re.sub(r"[\s-]", "", code)
    if not (figures.isascii() and figures.isdigit() and len(figures) == FIGURES):
        return None
    for drift in DRIFT:
        generator = generator_at(key, at, drift)
        if secrets.compare_digest(f"{generator.token():0{FIGURES}}", figures):
            return generator.t()
    return None


def generator_at(key: bytes, at: datetime, drift: int = 0) -> TOTP:
    generator = TOTP(key, step=STEP, digits=FIGURES, drift=drift)
    generator.time = at.timestamp()
    return generator


def new_recovery_code() -> str:
    """Like ``KTRW-4827-BCDF``."""
    signs = "".join(secrets.choice(RECOVERY_LETTERS) for _ in range(12))
    return "-".join(signs[start : start + 4] for start in (0, 4, 8))


def tidy_recovery_code(code: str) -> str:
    """A recovery code as it is hashed, however it was typed."""
    return re.sub(r"[^A-Z0-9]", "", code.upper())[:40]


def qr_path(text: str) -> tuple[int, str]:
    """A QR symbol (ISO/IEC 18004) with a quiet zone of four: modules to a side, and an SVG path of the dark ones."""
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    modules = np.asarray(symbol.to_image())
    return len(modules), "".join(f"M{x} {y}h1v1h-1z" for y, x in np.argwhere(modules == 0).tolist())
