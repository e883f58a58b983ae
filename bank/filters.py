"""The bank's filters: read from the address, applied to the questions, counted for the page.

A value that means nothing is left out, so an old or mistyped address still shows the bank. Values of one
filter widen it (difficulty 3 or 4); tags and different filters narrow it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.db.models import Q
from django.http import QueryDict

from accounts.models import User
from bank.models import State, Tag
from bank.outside import OutsideFilter, outside_filters
from bank.queries import ORDERS, QuestionQuerySet, tags_with_counts
from geometry.creasing import CREASES
from geometry.mistakes import KINDS, OWN
from geometry.shapes import SHAPES

LEVELS = (1, 2, 3, 4, 5)
FOLDS = (1, 2, 3, 4, 5, 6)
LONGEST_TEXT = 100
MISTAKES = {name: kind.label for name, kind in KINDS.items()} | {OWN: "Made by hand"}


@dataclass(frozen=True)
class Filters:
    """What the reader asked for. ``states`` is never empty: retired questions show only when asked for."""

    text: str = ""
    tags: tuple[int, ...] = ()
    folds: tuple[int, ...] = ()
    levels: tuple[int, ...] = ()
    states: tuple[str, ...] = (State.DRAFT, State.READY)
    creases: tuple[str, ...] = ()
    shapes: tuple[str, ...] = ()
    mistakes: tuple[str, ...] = ()
    authors: tuple[int, ...] = ()
    outside: tuple[tuple[OutsideFilter, tuple[str, ...]], ...] = ()
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
        for added, values in self.outside:
            narrowed = added.narrow(narrowed, values)
        for name, column in _COLUMNS.items():
            if name != but and (values := getattr(self, name)):
                narrowed = narrowed.filter(**{f"{column}__in": values})
        for name in _WORDS:
            if name != but and (values := getattr(self, name)):
                narrowed = narrowed.filter(_any_word(name, values))
        return narrowed


_COLUMNS = {"folds": "folds", "levels": "level", "states": "state", "authors": "author"}
_WORDS = ("creases", "shapes", "mistakes")  # columns of words, as bank.traits writes them


@dataclass(frozen=True)
class Choice:
    """A value of a filter: what it is called, how many questions it would show, whether it is chosen."""

    value: Any
    label: str
    count: int | None
    chosen: bool


@dataclass(frozen=True)
class Facets:
    tags: list[Choice] = field(default_factory=list)
    folds: list[Choice] = field(default_factory=list)
    levels: list[Choice] = field(default_factory=list)
    states: list[Choice] = field(default_factory=list)
    creases: list[Choice] = field(default_factory=list)
    shapes: list[Choice] = field(default_factory=list)
    mistakes: list[Choice] = field(default_factory=list)
    authors: list[Choice] = field(default_factory=list)
    outside: list[tuple[OutsideFilter, list[Choice]]] = field(default_factory=list)


def read_filters(query: QueryDict, user: User | None = None) -> Filters:
    """Read the filters from an address's query; those of other rooms only for a ``user`` who may choose them."""
    states = tuple(state for state in State.values if state in query.getlist("state"))
    order = query.get("sort", "")
    return Filters(
        text=query.get("q", "").replace("\0", "").strip()[:LONGEST_TEXT],
        tags=_whole_numbers(query.getlist("tag"), range(1, 2**31)),
        folds=_whole_numbers(query.getlist("folds"), FOLDS),
        levels=_whole_numbers(query.getlist("level"), LEVELS),
        states=states or Filters.states,
        creases=_known(query.getlist("crease"), CREASES),
        shapes=_known(query.getlist("shape"), (*SHAPES, "outline")),
        mistakes=_known(query.getlist("mistake"), MISTAKES),
        authors=_whole_numbers(query.getlist("author"), range(1, 2**31)),
        outside=_read_outside(query, user) if user else (),
        order=order if order in ORDERS else Filters.order,
    )


def count_facets(
    questions: QuestionQuerySet, filters: Filters, tags: Iterable[Tag], user: User | None = None
) -> Facets:
    """Count, for each value of each filter, the questions it would show beside the other filters.

    One query for each filter, however many questions; values of other rooms' filters are not counted.
    """
    by_tag = tags_with_counts(filters.apply(questions))
    authors = _counts(questions, filters, "authors")
    names = dict(User.objects.filter(pk__in=authors).order_by("name").values_list("pk", "name"))
    return Facets(
        tags=[
            Choice(tag.pk, tag.name, by_tag.get(tag.pk, 0), tag.pk in filters.tags)
            for tag in tags
            if tag.pk in by_tag or tag.pk in filters.tags
        ],
        folds=_counted(questions, filters, "folds", {n: f"{n} fold{'s' if n > 1 else ''}" for n in FOLDS}, empty=False),
        levels=_counted(questions, filters, "levels", {n: str(n) for n in LEVELS}),
        states=_counted(questions, filters, "states", dict(State.choices)),
        creases=_counted(questions, filters, "creases", {name: name for name in CREASES}, empty=False),
        shapes=_counted(questions, filters, "shapes", _shape_names(), empty=False),
        mistakes=_counted(questions, filters, "mistakes", MISTAKES, empty=False),
        authors=_choices(filters.authors, names, authors, empty=False),
        outside=_outside_choices(filters, user) if user else [],
    )


def _counted(
    questions: QuestionQuerySet, filters: Filters, name: str, labels: Mapping[Any, str], *, empty: bool = True
) -> list[Choice]:
    return _choices(getattr(filters, name), labels, _counts(questions, filters, name), empty=empty)


def _choices(
    chosen: Sequence[Any], labels: Mapping[Any, str], counts: Mapping[Any, int], *, empty: bool
) -> list[Choice]:
    choices = [Choice(value, label, counts.get(value, 0), value in chosen) for value, label in labels.items()]
    return [choice for choice in choices if empty or choice.count or choice.chosen]


def _counts(questions: QuestionQuerySet, filters: Filters, name: str) -> Mapping[Any, int]:
    narrowed = filters.apply(questions, but=name)
    if name in _COLUMNS:
        return narrowed.counted_by(_COLUMNS[name])
    counts: Counter[str] = Counter()
    for kept, count in narrowed.counted_by(name).items():
        counts.update(dict.fromkeys(kept.split(), count))
    return counts


def _any_word(column: str, values: Iterable[str]) -> Q:
    found = Q()
    for value in values:
        found |= Q(**{f"{column}__contains": f" {value} "})
    return found


def _shape_names() -> dict[str, str]:
    return {name: name for name in SHAPES} | {"outline": "own outline"}


def _read_outside(query: QueryDict, user: User) -> tuple[tuple[OutsideFilter, tuple[str, ...]], ...]:
    asked = [added for added in outside_filters() if added.name in query]
    read = [(added, _known(query.getlist(added.name), dict(added.choices(user)))) for added in asked]
    return tuple((added, values) for added, values in read if values)


def _outside_choices(filters: Filters, user: User) -> list[tuple[OutsideFilter, list[Choice]]]:
    chosen = {added.name: values for added, values in filters.outside}
    return [
        (
            added,
            [Choice(value, label, None, value in chosen.get(added.name, ())) for value, label in added.choices(user)],
        )
        for added in outside_filters()
    ]


def _known(texts: Iterable[str], allowed: Iterable[str]) -> tuple[str, ...]:
    asked = set(texts)
    return tuple(value for value in allowed if value in asked)


def _whole_numbers(texts: Iterable[str], allowed: Iterable[int]) -> tuple[int, ...]:
    numbers = {int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 10}
    return tuple(sorted(number for number in numbers if number in allowed))
