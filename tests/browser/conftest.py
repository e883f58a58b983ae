"""The browser, and tabs that notice what a page must never do."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect, sync_playwright

from tests.sites import Site, running_site

FLAGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.parent.name == "browser":
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """Ends with this folder: while it runs, Django takes the process for one that must not ask a database."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def site_on_sqlite(tmp_path_factory, static_files, migrated) -> Iterator[Site]:
    with running_site("sqlite", tmp_path_factory.mktemp("site"), static_files, migrated) as running:
        yield running


@pytest.fixture(scope="session")
def site_on_postgresql(tmp_path_factory, static_files) -> Iterator[Site]:
    with running_site("postgresql", tmp_path_factory.mktemp("site"), static_files) as running:
        yield running


@pytest.fixture
def site(request) -> Site:
    """On SQLite: what scripts do in a page does not depend on the database behind it (but see ``on_each``)."""
    return request.getfixturevalue(f"site_on_{getattr(request, 'param', 'sqlite')}")


# A refused answer is tested for what the page makes of it; a page left in the midst of asking breaks that off; options
# of a sheet that has changed since find no place, and are asked for anew.
EXPECTED = ("Failed to load resource", "htmx:sendAbort", "htmx:afterRequest", "htmx:oobErrorNoTarget")
expect.set_options(timeout=15_000)  # a machine of two cores may be busy with other tests


@dataclass
class Watch:
    """What went wrong in the tabs of a test: each list must stay empty."""

    address: str
    refused: list[str] = field(default_factory=list)
    strangers: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def over(self, context: BrowserContext) -> None:
        context.on("request", lambda request: self.note_request(request.url))
        context.on("console", self.note_console)
        context.on("weberror", lambda error: self.faults.append(str(error.error)))

    def note_request(self, url: str) -> None:
        if urlsplit(url).scheme in {"http", "https"} and not url.startswith(self.address + "/"):
            self.strangers.append(url)

    def note_console(self, message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            self.refused.append(message.text)
        elif message.type == "error" and not message.text.startswith(EXPECTED):
            self.faults.append(message.text)


@pytest.fixture
def watch(site: Site) -> Iterator[Watch]:
    watched = Watch(site.address)
    yield watched
    assert watched.refused == [], "the Content Security Policy refused something"
    assert watched.strangers == [], "a page asked another host"
    assert watched.faults == [], "a script failed"


@pytest.fixture
def new_device(browser: Browser, site: Site, watch: Watch) -> Iterator[Callable[..., Page]]:
    """``new_device()``: a tab of a browser that has never been here (with a context's own options)."""
    contexts: list[BrowserContext] = []

    def make(**options) -> Page:
        options.setdefault("viewport", {"width": 1280, "height": 800})
        context = browser.new_context(base_url=site.address, **options)
        context.set_default_timeout(10_000)
        watch.over(context)
        contexts.append(context)
        return context.new_page()

    yield make
    for context in contexts:
        context.close()
