"""From what a person ticked to the files it comes to."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import partial
from typing import Any, NamedTuple

from assignments.paper.answer_sheets import Sheet, make_answer_sheets
from assignments.paper.booklet import Heading, make_booklet
from assignments.paper.editions import Edition
from assignments.paper.lesson import make_lesson_sheets
from assignments.paper.mark_scheme import make_mark_scheme
from assignments.paper.sheet_codes import SheetName
from assignments.paper.shuffles import Printed, arrange, in_turn
from bank.models import Version

BOOKLET, SHEETS, SCHEME, LESSON = "booklet", "sheets", "scheme", "lesson"
KINDS = {
    BOOKLET: "Booklet",
    SHEETS: "Answer sheets",
    SCHEME: "Mark scheme",
    LESSON: "Lesson sheets, to fold and punch real paper",
}


@dataclass(frozen=True)
class Choices:
    """What is to be printed. ``seconds`` is the time allowed; ``named``: an answer sheet for each pupil by name."""

    kinds: tuple[str, ...]
    papers: int = 1
    page: str = "a4"
    large: bool = False
    tinted: bool = False
    a_page: int = 3
    seconds: int = 600
    named: bool = False

    @property
    def edition(self) -> Edition:
        return Edition(self.page, self.large, self.tinted, self.a_page)

    def to_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Choices:
        return cls(**(data | {"kinds": tuple(data["kinds"])}))


@dataclass(frozen=True)
class Material:
    """What there is to print from: the versions in the order of the set, tags by a question's primary key, pupils.

    What was assigned with two papers has those of Paper 2 in ``second``, and in ``given`` who has which paper.
    """

    set_id: int
    assignment_id: int  # 0 for a set that is not assigned
    title: str
    school: str
    class_name: str
    versions: Sequence[Version]
    tags: Mapping[int, Sequence[str]]
    pupils: Sequence[tuple[int, str]] = ()  # primary key and name
    second: Sequence[Version] = ()
    given: Mapping[int, int] = field(default_factory=dict)  # by a pupil's primary key

    def paper(self, number: int) -> list[Printed]:
        """The questions of a paper: of two that were assigned each as it stands, else in an order of its own."""
        if self.second:
            return arrange(self.set_id, 1, self.versions if number == 1 else self.second)
        return arrange(self.set_id, number, self.versions)


class Planned(NamedTuple):
    """A file to be made."""

    title: str
    make: Callable[[], bytes]


def plan(material: Material, choices: Choices) -> list[Planned]:
    """Return the files that ``choices`` come to, in the order of their kinds; nothing is made yet."""
    planners = {BOOKLET: _booklets, SHEETS: _sheets, SCHEME: _schemes, LESSON: _lessons}
    return [file for kind in KINDS if kind in choices.kinds for file in planners[kind](material, choices)]


def _heading(material: Material, choices: Choices) -> Heading:
    return Heading(material.title, material.school, choices.seconds, material.class_name, choices.papers)


def _titled(kind: str, heading: Heading, paper: int = 0) -> str:
    return ", ".join(part for part in (kind, heading.of_paper(paper) if paper else "") if part)


def _booklets(material: Material, choices: Choices) -> Iterator[Planned]:
    heading = _heading(material, choices)
    for paper in range(1, choices.papers + 1):
        questions = material.paper(paper)
        on_sheet = SHEETS in choices.kinds
        make = partial(make_booklet, heading, paper, questions, choices.edition, on_sheet=on_sheet)
        yield Planned(_titled("Booklet", heading, paper), make)


def _sheets(material: Material, choices: Choices) -> Iterator[Planned]:
    heading = _heading(material, choices)
    named = choices.named and bool(material.pupils)
    sheets = _named(material, choices) if named else _to_copy(material, choices)
    make = partial(make_answer_sheets, heading, len(material.versions), sheets, choices.edition)
    yield Planned("Answer sheets, one for each pupil" if named else "Answer sheets to copy", make)


def _named(material: Material, choices: Choices) -> list[Sheet]:
    return [
        Sheet(SheetName(material.set_id, material.assignment_id, paper, pk), name)
        for place, (pk, name) in enumerate(material.pupils)
        if (paper := material.given.get(pk) or in_turn(place, choices.papers))
    ]


def _to_copy(material: Material, choices: Choices) -> list[Sheet]:
    papers = range(1, choices.papers + 1)
    return [Sheet(SheetName(material.set_id, material.assignment_id, paper, 0)) for paper in papers]


def _schemes(material: Material, choices: Choices) -> Iterator[Planned]:
    heading = _heading(material, choices)
    for paper in range(1, choices.papers + 1):
        make = partial(make_mark_scheme, heading, paper, material.paper(paper), material.tags, choices.edition)
        yield Planned(_titled("Mark scheme", heading, paper), make)


def _lessons(material: Material, choices: Choices) -> Iterator[Planned]:
    heading = _heading(material, choices)
    for paper in (1, 2) if material.second else (1,):
        make = partial(make_lesson_sheets, heading, material.paper(paper), choices.edition)
        yield Planned(_titled("Lesson sheets", heading, paper if material.second else 0), make)
