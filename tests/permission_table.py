"""Who may do what: one line for each address, with what each role gets by GET and by an empty POST.

Words: ``ok`` a page; ``go`` sent on after the deed; ``in`` sent to sign in; ``401`` the same, with what was typed
to copy; ``403`` not for this role; ``404`` no such thing for you; ``405`` not by this method; ``400`` the form
back, with what is missing. A role's word stands in the order of ROLES.
"""

from __future__ import annotations

from dataclasses import dataclass

ROLES = ("anonymous", "pupil", "other_pupil", "teacher", "other_teacher", "stranger", "head", "administrator")


@dataclass(frozen=True)
class Line:
    """An address: its route, the objects of the world in its placeholders, and a word for each role."""

    route: str
    objects: tuple[str, ...]
    get: tuple[str, ...]
    post: tuple[str, ...]


TABLE = """
"""


def lines() -> list[Line]:
    return [read_line(text) for text in TABLE.splitlines() if text.strip() and not text.startswith("#")]


def read_line(text: str) -> Line:
    """``route objects | words for GET | words for POST``; one word stands for all roles."""
    place, get, post = (part.split() for part in text.split("|"))
    return Line(place[0], tuple(place[1:]), _of_each(get), _of_each(post))


def _of_each(words: list[str]) -> tuple[str, ...]:
    words = words * len(ROLES) if len(words) == 1 else words
    assert len(words) == len(ROLES), f"{len(words)} words for {len(ROLES)} roles: {words}"
    return tuple(words)
