"""Names of people and classes as we keep them: any writing, one Unicode form, nothing invisible."""

from __future__ import annotations

import unicodedata

from accounts.models import fold_name

NAME_LENGTH = 80
FOLDED_LENGTH = 120

# Joiners that Persian, Indic names and emoji need (ZWNJ, ZWJ); every other format character goes, and with
# them the overrides that make a name read backwards (U+202A to U+202E, U+2066 to U+2069).
JOINERS = "\u200c\u200d"


class BadNameError(ValueError):
    """Why a name cannot be kept; ``str()`` is the sentence to show."""


def tidy_text(text: str) -> str:
    """Text in form NFC, with single spaces, without control and format characters."""
    shown = "".join(_shown(character) for character in unicodedata.normalize("NFC", text))
    return " ".join(shown.split())


def tidy_name(text: str) -> str:
    """A pupil's name as typed, made fit to keep and to sign in with.

    Raises BadNameError when nothing is left or it is too long.
    """
    name = tidy_text(text)
    if not name.strip(JOINERS):
        raise BadNameError("Write a name.")
    if len(name) > NAME_LENGTH or len(fold_name(name)) > FOLDED_LENGTH:
        raise BadNameError(f"A name has at most {NAME_LENGTH} characters; this one has {len(name):,}.")
    return name


def _shown(character: str) -> str:
    if character in JOINERS:
        return character
    if character.isspace():
        return " "
    # Cc control, Cf format, Cs half of a surrogate pair
    return "" if unicodedata.category(character) in ("Cc", "Cf", "Cs") else character
