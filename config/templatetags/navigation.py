"""The main navigation: which pages a person is offered, and where they are now."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page
from django.http import HttpRequest
from django.template import Library
from django.urls import reverse

from accounts.models import User

register = Library()

BANK, SETS = ("Bank", "bank:list"), ("Sets", "assignments:sets")
CLASSES, RESULTS = ("Classes", "accounts:classes"), ("Results", "assignments:results")
STAFF, RECORDS = ("Staff", "accounts:staff"), ("Records", "accounts:records")
MY_SETS = ("My sets", "assignments:my_sets")

# Pages of a place whose address does not lie below it.
ELSEWHERE = {
    "accounts:pupil_edit": CLASSES,
    "accounts:pupil_held": RECORDS,
    "accounts:pupil_erase": RECORDS,
    "work": RECORDS,
    "assignments:sitting": MY_SETS,
    "assignments:review": MY_SETS,
}


@dataclass(frozen=True)
class Place:
    """One word of the navigation. ``current`` is "page" on the page itself, "true" on a page below it."""

    label: str
    url: str
    current: str


@register.inclusion_tag("parts/navigation.html", takes_context=True)
def navigation(context: dict[str, Any]) -> dict[str, list[Place]]:
    """The places of the signed-in person; none for a stranger or where there is no request."""
    request = context.get("request")
    user = getattr(request, "user", None)
    if request is None or user is None or not user.is_authenticated:
        return {"places": []}
    return {"places": [place_of(place, request) for place in places_of(user)]}


def places_of(user: User) -> list[tuple[str, str]]:
    """The words and page names offered to this person."""
    if user.is_pupil:
        return [MY_SETS]
    return [BANK, SETS, CLASSES, RESULTS, *([STAFF, RECORDS] if user.is_administrator else [])]


def place_of(place: tuple[str, str], request: HttpRequest) -> Place:
    """The place, knowing whether the request is for its own page or for one below it."""
    label, name = place
    url = reverse(name)
    if request.path == url:
        return Place(label, url, "page")
    match = request.resolver_match
    below = request.path.startswith(url) or (match and ELSEWHERE.get(match.view_name) == place)
    return Place(label, url, "true" if below else "")


@register.simple_tag
def page_numbers(page: Page[Any]) -> Iterator[int | str]:
    """The numbers to offer around ``page``, with an ellipsis where some are left out."""
    return page.paginator.get_elided_page_range(page.number, on_each_side=1, on_ends=1)
