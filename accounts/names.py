"""Names of people and classes as we keep them: any writing, one Unicode form, nothing invisible."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from accounts.models import User, fold_name

NAME_LENGTH = 80
FOLDED_LENGTH = 120

# Joiners that Persian, Indic names and emoji need (ZWNJ, ZWJ); every other format character goes, and with
# them the overrides that make a name read backwards (U+202A to U+202E, U+2066 to U+2069).
JOINERS = "\u200c\u200d"
APOSTROPHES = "'’‘ʼ`´"  # which of them a keyboard gives is chance
# Letters that Unicode takes for one piece, though keyboards and registers take them for another letter.
ONE_PIECE = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h"})


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


def plain_name(name: str) -> str:
    """The name in plain letters and figures, without accents, apostrophes and hyphens: ``obrien zoe`` of O’Brien Zoë.

    It is what a child types who does not find them on a tablet's keyboard, and what registers are in order of. Empty
    for a name of signs alone.
    """
    parts = unicodedata.normalize("NFKD", fold_name(name)).translate(ONE_PIECE)
    return " ".join("".join(_plain(part) for part in parts).split())


def in_register_order(people: Iterable[User]) -> list[User]:
    """People by name as a register has them, Émile among the E, whatever the database takes for an order."""
    return sorted(people, key=lambda person: (*register_key(person.name), person.pk))


def register_key(name: str) -> tuple[str, str]:
    """By what names are put in order; two that are alike in plain letters by how they are written."""
    return plain_name(name), fold_name(name)


def _plain(part: str) -> str:
    if part in APOSTROPHES or unicodedata.combining(part):
        return ""
    return part if unicodedata.category(part)[0] in "LMN" else " "


def _shown(character: str) -> str:
    if character in JOINERS:
        return character
    if character.isspace():
        return " "
    # Cc control, Cf format, Cs half of a surrogate pair
    return "" if unicodedata.category(character) in ("Cc", "Cf", "Cs") else character
