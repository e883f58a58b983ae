"""The main navigation: which pages a person is offered, and where they are now."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import template
from django.core.paginator import Page
from django.urls import NoReverseMatch, reverse

register = template.Library()

ADULT_PLACES = (
    ("Bank", "bank:list"),
    ("Sets", "assignments:sets"),
    ("Classes", "accounts:classes"),
    ("Results", "assignments:results"),
)
PUPIL_PLACES = (("My sets", "assignments:my_sets"),)


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
    places = PUPIL_PLACES if user.is_pupil else ADULT_PLACES
    return {"places": [place_of(label, url, path=request.path) for label, name in places if (url := address(name))]}


def address(name: str) -> str:
    """Where the page is, or nothing where its room has no such page."""
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def place_of(label: str, url: str, *, path: str) -> Place:
    """The place, knowing whether ``path`` is its own page or lies below it."""
    if path == url:
        return Place(label, url, "page")
    return Place(label, url, "true" if path.startswith(url) else "")


@register.simple_tag
def page_numbers(page: Page[Any]) -> Iterator[int | str]:
    """The numbers to offer around ``page``, with an ellipsis where some are left out."""
    return page.paginator.get_elided_page_range(page.number, on_each_side=1, on_ends=1)
