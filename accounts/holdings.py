"""What each room of the house holds about a pupil, and how it lets go of it.

A room declares in its ``AppConfig.ready`` what it holds; the pages about a pupil's data, erasure and retention then
include it without knowing it. Rooms built upon others let go first, since their rows point at the others'.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from accounts.models import School, User

Row = dict[str, Any]


@dataclass(frozen=True)
class Part:
    """Records of one kind: readable headings to plain values (text, numbers, moments, None).

    ``stays``: erasure leaves them, since the name is not in them but looked up.
    """

    title: str
    rows: tuple[Row, ...]
    stays: bool = False

    @property
    def headings(self) -> tuple[str, ...]:
        return tuple(self.rows[0]) if self.rows else ()


@dataclass(frozen=True)
class Kind:
    """Records that end after a time: ``due`` counts those from before a moment, ``remove`` removes them.

    Both take the school and the moment. ``months`` is what is suggested: a school year and one more.
    """

    key: str
    title: str
    counted_from: str
    due: Callable[[School, datetime], int]
    remove: Callable[[School, datetime], int]
    months: int = 24


@dataclass(frozen=True)
class Holding:
    """What a room says of itself. ``names`` gives the names of its things by number, for the audit trail."""

    held_about: Callable[[User], Iterable[Part]]
    erase: Callable[[User], None]
    kinds: tuple[Kind, ...] = ()
    names: dict[str, Callable[[School, set[int]], dict[int, str]]] = field(default_factory=dict)


_holdings: dict[str, Holding] = {}


def register(room: str, holding: Holding) -> None:
    """Declare what a room holds; once more replaces what was said before."""
    _holdings[room] = holding


def held_about(pupil: User) -> list[Part]:
    """All that is stored about a pupil, in the order of the rooms."""
    return [part for holding in _holdings.values() for part in holding.held_about(pupil)]


def erase(pupil: User) -> None:
    """Have every room let go of the pupil, the last one first. Within the caller's transaction."""
    for holding in reversed(_holdings.values()):
        holding.erase(pupil)


def kinds() -> list[Kind]:
    """Every kind of record that ends after a time."""
    return [kind for holding in _holdings.values() for kind in holding.kinds]


def names_of(kind: str, school: School, numbers: set[int]) -> dict[int, str]:
    """The names of these things of the school; those that are gone, or of no room, are not in it."""
    for holding in _holdings.values():
        if kind in holding.names:
            return holding.names[kind](school, numbers)
    return {}
