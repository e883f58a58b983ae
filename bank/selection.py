"""Which questions a form speaks of: those ticked on a page, all that a search found, or those chosen a page before.

A form sends ``question`` for each tick, or ``all`` with the search in ``query``; later pages carry ``chosen``, the
numbers in one field. Whatever is sent, only questions that the person may see are found.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import QueryDict

from accounts.models import User
from bank.errors import SelectionError
from bank.filters import read_filters
from bank.models import Question
from bank.queries import QuestionQuerySet

MOST = 2_000
NOTHING = "No question is chosen. Tick some, or choose all that were found."


@dataclass(frozen=True)
class Selection:
    """The questions chosen, and the search to go back to."""

    questions: QuestionQuerySet
    ids: tuple[int, ...]
    query: str

    @property
    def chosen(self) -> str:
        """The numbers as a form carries them to the next page."""
        return ",".join(map(str, self.ids))

    def __len__(self) -> int:
        return len(self.ids)


def read_selection(sent: QueryDict, user: User, *, most: int = MOST) -> Selection:
    """Return what was chosen among the questions that ``user`` may see.

    Raises ``SelectionError`` for nothing, too much or a stranger's.
    """
    query = QueryDict(sent.get("query", "")[:2000])
    visible = Question.objects.visible_to(user).filter(current__isnull=False)
    if sent.get("all"):
        filters = read_filters(query, user)
        ids = tuple(filters.apply(visible).in_order(filters.order).values_list("pk", flat=True)[: most + 1])
    else:
        ids = _ids([*sent.getlist("question"), *sent.get("chosen", "")[: 20 * MOST].split(",")])
    if not ids:
        raise SelectionError(NOTHING)
    if len(ids) > most:
        raise SelectionError(f"{most:,} questions at most can be chosen for this. Narrow the search, or tick fewer.")
    questions = visible.filter(pk__in=ids)
    if len(ids) != questions.count():
        raise SelectionError("One of these questions is not in your school’s bank any more. Nothing was done.")
    return Selection(questions, ids, query.urlencode())


def _ids(texts: Iterable[str]) -> tuple[int, ...]:
    numbers = dict.fromkeys(int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 18)
    return tuple(numbers)
