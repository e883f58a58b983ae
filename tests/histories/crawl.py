"""Going through the site as people do: by the links and the forms that its pages offer."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from urllib.parse import parse_qsl, urlencode, urljoin, urlsplit

from django.test import Client
from django.urls import Resolver404, resolve, reverse
from lxml import html

from accounts.models import User

# Where a walk ends: it would sign out, or change the person's own way in.
NOT_PRESSED = re.compile(r"^/(sign-in|sign-out|password|second-factor|invitation|pupil/)")
ELSEWHERE = ("/static/", "mailto:", "data:")


class Fault(AssertionError):
    """What should never be: the address, what came of it, and who asked."""


@dataclass
class Page:
    address: str
    status: int
    body: bytes
    kind: str
    location: str = ""
    tree: html.HtmlElement | None = None

    @property
    def links(self) -> list[str]:
        """Every address that the page offers by a link, a picture or a form that only asks."""
        if self.tree is None:
            return []
        found = [*self.tree.xpath("//a/@href"), *self.tree.xpath("//img/@src"), *self.tree.xpath("//*/@data-preview")]
        for form in self.tree.forms:
            if form.method == "GET":
                found.append(f"{form.action or self.address.split('?')[0]}?{urlencode(form.form_values())}")
        return [urljoin(self.address, link) for link in found if not urlsplit(link).netloc]

    @property
    def forms(self) -> list[html.FormElement]:
        """The forms that would change something."""
        return [] if self.tree is None else [form for form in self.tree.forms if form.method == "POST"]


@dataclass
class Walker:
    """A person with a browser."""

    person: User
    client: Client = field(default_factory=lambda: Client(raise_request_exception=True))

    def __post_init__(self) -> None:
        self.client.force_login(self.person)

    @property
    def is_signed_in(self) -> bool:
        return not NOT_PRESSED.match(self.client.get("/").get("Location", ""))

    def get(self, address: str, **headers: str) -> Page:
        return self._page(address, "GET", lambda: self.client.get(address, headers=headers))

    def post(self, address: str, sent: dict) -> Page:
        return self._page(address, "POST", lambda: self.client.post(address, sent))

    def _page(self, address: str, method: str, ask) -> Page:
        try:
            response = ask()
            body = b"".join(response.streaming_content) if response.streaming else response.content
        except Exception as error:
            raise Fault(f"{self.person.role} {method} {address}: {error!r}") from error
        kind = response.get("Content-Type", "")
        page = Page(address, response.status_code, body, kind, response.get("Location", ""))
        if page.status >= 500:
            raise Fault(f"{self.person.role} {method} {address}: {page.status}")
        if kind.startswith("text/html") and body.strip():
            page.tree = html.fromstring(body.decode())
        return page

    def follow(self, address: str, *, offered_by: str) -> Page:
        """Open an address that a page has offered: it must be there."""
        page = self.get(address.split("#")[0])
        for _ in range(4):
            if page.status not in (301, 302):
                break
            if urlsplit(page.location).path in (reverse("accounts:sign_in"), reverse("accounts:pupil_sign_in")):
                raise Fault(f"{self.person.role} is asked to sign in at {address}, offered by {offered_by}")
            page = self.get(urljoin(page.address, page.location).split("#")[0])
        if page.status not in (200, 204):
            raise Fault(f"{self.person.role}: {address}, offered by {offered_by}, answers {page.status}")
        return page


def kind_of(address: str) -> str:
    """Addresses of one kind are of one page with the same names in their query."""
    parts = urlsplit(address)
    names = sorted({name for name, value in parse_qsl(parts.query) if value})
    return f"{resolve(parts.path).view_name}?{','.join(names)}"


def walk(walker: Walker, lot: Random, *, of_a_kind: int, start: str = "/") -> dict[str, Page]:
    """Follow links from the first page; of each kind of address at most so many, drawn by lot.

    Most pages of the bank are left out, which know nothing of sittings.
    """
    seen: dict[str, Page] = {}
    offers: dict[str, list[tuple[str, str]]] = {"first": [(start, "")]}  # by kind: an address, and who offers it
    left: dict[str, int] = defaultdict(lambda: of_a_kind)
    met, faults = {start}, []
    while offers:
        kind = lot.choice(sorted(offers))
        address, offered_by = offers[kind].pop(lot.randrange(len(offers[kind])))
        left[kind] = 0 if kind.startswith("bank:") and lot.random() < 0.6 else left[kind] - 1
        if left[kind] >= 0:
            try:
                page = seen[address] = walker.follow(address, offered_by=offered_by)
                for link in sorted({link.partition("#")[0] for link in page.links} - met):
                    met.add(link)
                    if not link.startswith(ELSEWHERE) and not NOT_PRESSED.match(link):
                        offers.setdefault(kind_of(link), []).append((link, page.address))
            except Fault as fault:
                faults.append(str(fault))
            except Resolver404:
                faults.append(f"{walker.person.role}: {address} offers what is no address at all")
        if not offers[kind] or left[kind] <= 0:
            del offers[kind]
    faults += nowhere(seen)
    if faults:
        raise Fault("\n".join(faults))
    return seen


def nowhere(seen: dict[str, Page]) -> Iterator[str]:
    """Say which links name a place on a page that was seen, and is not there."""
    for address, page in seen.items():
        for link in page.links:
            bare, _, place = link.partition("#")
            to = seen.get(bare)
            if place and to is not None and to.tree is not None and not to.tree.xpath("//*[@id=$it]", it=place):
                yield f"{address} links to {link}, and nothing there is called so"


def filled(form: html.FormElement, lot: Random, *, changes: float) -> dict[str, object]:
    """What the form would send, some of its fields filled in anew; one of its buttons pressed."""
    sent: dict[str, list[str]] = defaultdict(list)
    for name, value in form.form_values():
        sent[name].append(value)
    for field_ in form.xpath(".//input|.//select|.//textarea"):
        name, kind = field_.get("name"), field_.get("type", field_.tag)
        if not name or kind in ("hidden", "file", "submit", "button", "image") or lot.random() > changes:
            continue
        if kind == "select":
            options = [option.get("value", option.text) for option in field_.iter("option")]
            sent[name] = [lot.choice(options)] if options else []
        elif kind in ("radio", "checkbox"):
            same = form.xpath(f".//input[@name='{name}']")
            values = [one.get("value", "on") for one in same if one.get("disabled") is None]
            most = 1 if kind == "radio" else len(values)
            sent[name] = lot.sample(values, lot.randint(1 if kind == "radio" else 0, most)) if values else []
        elif kind == "number":
            sent[name] = [str(lot.randint(0, 12))]
        elif kind in ("text", "search", "textarea") and not field_.value:
            sent[name] = [f"Words {lot.randrange(1000)}"]
    buttons = form.xpath(".//button[not(@type) or @type='submit'][@name]|.//input[@type='submit'][@name]")
    if form.get("id"):
        buttons += form.getroottree().xpath("//button[@form=$it][@name]", it=form.get("id"))
    if buttons:
        button = lot.choice(buttons)
        sent[button.get("name")].append(button.get("value", ""))
    return {name: values for name, values in sent.items() if values}
