"""Reading pages as a browser would: what stands in which field, what is said."""

from __future__ import annotations

from lxml import html


def parse(response) -> html.HtmlElement:
    return html.fromstring(response.content.decode())


def typed_in(page: html.HtmlElement) -> dict[str, str]:
    """What the workbench's form would post if it were sent as it stands.

    The parser keeps the line break with which a text area may begin and which browsers drop.
    """
    form = page.get_element_by_id("bench")
    areas = {area.name for area in form.iter("textarea")}
    values = dict(form.form_values())
    return {name: value.removeprefix("\n") if name in areas else value for name, value in values.items()}


def said(page: html.HtmlElement, place: str) -> str:
    """The sentence at a place of the page, without the spaces between its words."""
    return " ".join(page.get_element_by_id(place).text_content().split())


def words(page: html.HtmlElement, path: str) -> list[str]:
    """The texts of the elements that a path finds."""
    return [" ".join(found.text_content().split()) for found in page.xpath(path)]
