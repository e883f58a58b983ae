"""Searches of the bank that a person keeps, each under a name."""

from __future__ import annotations

from django.db import IntegrityError, transaction
from django.http import QueryDict

from accounts.models import User
from accounts.names import tidy_text
from bank.errors import SearchError
from bank.models import SavedSearch

MOST = 40
LONGEST_QUERY = 2000


def save_search(*, name: str, query: str, by: User) -> SavedSearch:
    """Keep a search. Under a name that is there already it takes the place of the old one."""
    name, query = _named(name), tidy_query(query)
    if not query:
        raise SearchError("This search finds the whole bank: choose a filter or type a word first.")
    if len(query) > LONGEST_QUERY:
        raise SearchError("This search has too many filters to be kept.")
    if SavedSearch.objects.filter(by=by).exclude(name=name).count() >= MOST:
        raise SearchError(f"You have {MOST} searches, which is all that are kept. Delete one first.")
    return SavedSearch.objects.update_or_create(by=by, name=name, defaults={"query": query})[0]


def rename_search(*, search: SavedSearch, name: str) -> None:
    search.name = _named(name)
    try:
        with transaction.atomic():
            search.save(update_fields=["name"])
    except IntegrityError:
        raise SearchError(f"You have a search called “{search.name}” already.") from None


def delete_search(*, search: SavedSearch) -> None:
    search.delete()


def tidy_query(query: str) -> str:
    """Return an address's query without the page and without what is empty, written in one way."""
    kept = QueryDict(mutable=True)
    for name, values in QueryDict(query).lists():
        if name != "page" and any(values):
            kept.setlist(name, [value.replace("\0", "") for value in values if value])
    return kept.urlencode()


def _named(name: str) -> str:
    name = tidy_text(name)
    if not name:
        raise SearchError("Give the search a name.")
    if len(name) > 60:
        raise SearchError("The name of a search has 60 characters at most.")
    return name
