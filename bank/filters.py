"""The bank's filters: read from the address, applied to the questions, counted for the page.

A value that means nothing is left out, so an old or mistyped address still shows the bank. Values of one
filter widen it (difficulty 3 or 4); tags and different filters narrow it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from django.http import QueryDict

from bank.models import State, Tag
from bank.queries import ORDERS, QuestionQuerySet, tags_with_counts

LEVELS = (1, 2, 3, 4, 5)
FOLDS = (1, 2, 3, 4, 5, 6)
LONGEST_TEXT = 100


@dataclass(frozen=True)
class Filters:
    """What the reader asked for. ``states`` is never empty: retired questions show only when asked for."""

    text: str = ""
    tags: tuple[int, ...] = ()
    folds: tuple[int, ...] = ()
    levels: tuple[int, ...] = ()
    states: tuple[str, ...] = (State.DRAFT, State.READY)
    order: str = "newest"

    @property
    def has_values(self) -> bool:
        """True when anything but the search text narrows the list."""
        return replace(self, text="", order=Filters.order) != Filters()

    @property
    def is_narrowed(self) -> bool:
        return bool(self.text) or self.has_values

    def apply(self, questions: QuestionQuerySet, *, but: str = "") -> QuestionQuerySet:
        """Narrow ``questions`` by every filter, leaving out the one named ``but``."""
        narrowed = questions.matching(self.text).tagged(self.tags)
        for name, lookup in _LOOKUPS.items():
            if name != but and (values := getattr(self, name)):
                narrowed = narrowed.filter(**{f"{lookup}__in": values})
        return narrowed


_LOOKUPS = {"folds": "folds", "levels": "level", "states": "state"}


@dataclass(frozen=True)
class Choice:
    """A value of a filter: what it is called, how many questions it would show, whether it is chosen."""

    value: Any
    label: str
    count: int
    chosen: bool


@dataclass(frozen=True)
class Facets:
    tags: list[Choice] = field(default_factory=list)
    folds: list[Choice] = field(default_factory=list)
    levels: list[Choice] = field(default_factory=list)
    states: list[Choice] = field(default_factory=list)


def read_filters(query: QueryDict) -> Filters:
    """Read the filters from an address's query."""
    states = tuple(state for state in State.values if state in query.getlist("state"))
    order = query.get("sort", "")
    return Filters(
        text=query.get("q", "").replace("\0", "").strip()[:LONGEST_TEXT],
        tags=_whole_numbers(query.getlist("tag"), range(1, 2**31)),
        folds=_whole_numbers(query.getlist("folds"), FOLDS),
        levels=_whole_numbers(query.getlist("level"), LEVELS),
        states=states or Filters.states,
        order=order if order in ORDERS else Filters.order,
    )


def count_facets(questions: QuestionQuerySet, filters: Filters, tags: Iterable[Tag]) -> Facets:
    """Count, for each value of each filter, the questions it would show beside the other filters (4 queries)."""
    by_tag = tags_with_counts(filters.apply(questions))
    return Facets(
        tags=[
            Choice(tag.pk, tag.name, by_tag.get(tag.pk, 0), tag.pk in filters.tags)
            for tag in tags
            if tag.pk in by_tag or tag.pk in filters.tags
        ],
        folds=_counted(questions, filters, "folds", {n: f"{n} fold{'s' if n > 1 else ''}" for n in FOLDS}, empty=False),
        levels=_counted(questions, filters, "levels", {n: str(n) for n in LEVELS}),
        states=_counted(questions, filters, "states", dict(State.choices)),
    )


def _counted(
    questions: QuestionQuerySet, filters: Filters, name: str, labels: dict[Any, str], *, empty: bool = True
) -> list[Choice]:
    counts = filters.apply(questions, but=name).counted_by(_LOOKUPS[name])
    chosen = getattr(filters, name)
    choices = [Choice(value, label, counts.get(value, 0), value in chosen) for value, label in labels.items()]
    return [choice for choice in choices if empty or choice.count or choice.chosen]


def _whole_numbers(texts: Iterable[str], allowed: Iterable[int]) -> tuple[int, ...]:
    numbers = {int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 10}
    return tuple(sorted(number for number in numbers if number in allowed))
