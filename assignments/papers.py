"""The paper of a sitting: which question stands at which place, and which option at which letter.

It is drawn by lot once, at the start, and kept with the sitting. The browser never learns an option's own
letter: it knows each by a keyed digest that differs from sitting to sitting.
"""

from __future__ import annotations

import hmac
from collections.abc import Sequence
from functools import cache, lru_cache
from hashlib import sha256
from random import Random
from typing import Any, NamedTuple

from django.conf import settings

LETTERS = "ABCDE"
Paper = list[dict[str, Any]]


class Place(NamedTuple):
    """One place of a paper: its number (from 1), the assigned question's id, and the letters at A, B, C..."""

    number: int
    question: int
    order: str

    def shown(self, letter: str) -> str:
        """Return the letter under which the pupil sees the version's ``letter``; "" stays ""."""
        return LETTERS[self.order.index(letter)] if letter else ""


def draw_paper(
    questions: Sequence[int], lot: Random, *, shuffle_questions: bool, shuffle_options: bool, number: int = 0
) -> Paper:
    """Return the paper of one pupil for these assigned questions (ids, in the order of the set).

    ``number`` tells which of several papers it is, 0 where all pupils have the same questions.
    """
    order = lot.sample(questions, len(questions)) if shuffle_questions else questions
    return numbered([{"question": question, "order": _draw_order(lot, shuffle_options)} for question in order], number)


def numbered(paper: Paper, number: int) -> Paper:
    """Return the paper with its number kept in it, where there is one."""
    return [entry | {"paper": number} for entry in paper] if number else paper


def number_of(paper: Paper) -> int:
    """Return which of several papers this is; 0 where there is only one."""
    return paper[0].get("paper", 0) if paper else 0


def titled(title: str, paper: Paper) -> str:
    """Return the title that stands over a pupil's page."""
    number = number_of(paper)
    return f"{title}, Paper {number}" if number else title


def places(paper: Paper) -> list[Place]:
    return [Place(number, entry["question"], entry["order"]) for number, entry in enumerate(paper, 1)]


def place_numbered(paper: Paper, number: int) -> Place | None:
    """Return one place of the paper, or ``None`` if it has none of this number."""
    if not 1 <= number <= len(paper):
        return None
    entry = paper[number - 1]
    return Place(number, entry["question"], entry["order"])


def option_names(sitting_id: int, place: Place) -> tuple[str, ...]:
    """Return what the browser calls the options at A, B, C...: 16 hex digits each, by HMAC-SHA256."""
    return _names(settings.SECRET_KEY, sitting_id, place)


def letter_named(sitting_id: int, place: Place, name: str) -> str | None:
    """Return the version's letter of the option so named, or ``None`` if the paper has no such option here."""
    names = option_names(sitting_id, place)
    return place.order[names.index(name)] if name in names else None


def _draw_order(lot: Random, shuffle: bool) -> str:
    return "".join(lot.sample(LETTERS, len(LETTERS))) if shuffle else LETTERS


@lru_cache(10_000)
def _names(secret: str, sitting_id: int, place: Place) -> tuple[str, ...]:
    messages = [f"{sitting_id}:{place.question}:{letter}".encode() for letter in place.order]
    return tuple(hmac.digest(_key(secret), message, "sha256").hex()[:16] for message in messages)


@cache
def _key(secret: str) -> bytes:
    """A key for this alone, made of the server's."""
    return sha256(b"assignments.option" + secret.encode()).digest()
