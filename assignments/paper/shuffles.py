"""The papers of a set: Paper 1 as the set stands, each further one with its own order of questions and options.

An order follows from the set's, the paper's and the question's number alone, by SHA-256: the same paper comes out
whenever it is printed or marked, on any machine, and a question added to the set later moves none of the others about.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from hashlib import sha256
from typing import NamedTuple

from assignments.papers import LETTERS
from bank.models import Version

MOST_PAPERS = 4


def in_turn(place: int, papers: int) -> int:
    """Return which paper the pupil at a place of the class list (from 0) gets: they are handed out in turn."""
    return place % papers + 1


class Printed(NamedTuple):
    """A question of a paper: its number there, and which of the version's letters stands at A, B, C..."""

    number: int
    version: Version
    order: str

    @property
    def key(self) -> str:
        """The letter of the right option on this paper."""
        return LETTERS[self.order.index(self.version.key)]


def arrange(set_id: int, paper: int, versions: Sequence[Version]) -> list[Printed]:
    """Return the questions as ``paper`` (from 1) has them; ``versions`` come in the order of the set."""
    in_order = versions if paper == 1 else sorted(versions, key=lambda v: _lot(set_id, paper, v.question_id))
    return [Printed(number, v, _order(set_id, paper, v.question_id)) for number, v in enumerate(in_order, 1)]


def _order(set_id: int, paper: int, question_id: int) -> str:
    if paper == 1:
        return LETTERS
    return "".join(_sorted_by_lot(set_id, paper, question_id, LETTERS))


def _sorted_by_lot(set_id: int, paper: int, question_id: int, letters: Iterable[str]) -> list[str]:
    return sorted(letters, key=lambda letter: _lot(set_id, paper, question_id, letter))


def _lot(*of: int | str) -> bytes:
    return sha256(":".join(map(str, ("paper", *of))).encode()).digest()
