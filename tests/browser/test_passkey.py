"""A passkey in a real browser, whose device is virtual (W3C WebDriver's virtual authenticators, by Chromium's own
protocol): made, listed, signed in with alone and after a password, removed.

A passkey belongs to a name, never to a number: the site is asked as ``localhost``.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Watch
from tests.sites import Site, run

DEVICE = {"protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True}


@pytest.fixture
def address(site: Site) -> str:
    return site.address.replace("127.0.0.1", "localhost")


@pytest.fixture
def page(browser: Browser, site: Site, address: str) -> Iterator[Page]:
    """A tab whose device has a finger on it; the policy refuses nothing and no script fails.

    Other tests sign in as the head with a password alone, so the second factor is taken away at the end.
    """
    watch = Watch(address)
    context = browser.new_context(base_url=address, viewport={"width": 1280, "height": 800})
    context.set_default_timeout(10_000)
    watch.over(context)
    page = context.new_page()
    line = context.new_cdp_session(page)
    line.send("WebAuthn.enable")
    finger = {"isUserVerified": True, "automaticPresenceSimulation": True}
    line.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE | finger})
    yield page
    context.close()
    run(site.environment, "manage.py", "reset_second_factor", site.school["emails"]["head"])
    assert (watch.refused, watch.strangers, watch.faults) == ([], [], [])


def sign_out(page: Page) -> None:
    page.locator(".masthead-end summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in, for adults")).to_be_visible()


def give_password(page: Page, site: Site) -> None:
    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill(site.school["emails"]["head"])
    page.get_by_label("Password").fill(site.school["password"])
    page.get_by_role("button", name="Sign in").click()


def make_one(page: Page, site: Site, name: str) -> None:
    page.get_by_label("Name of the passkey").fill(name)
    page.get_by_label("Current password").fill(site.school["password"])
    page.get_by_role("button", name="Make a passkey").click()


def test_a_passkey_from_the_first_to_the_last_day(page: Page, site: Site, address: str):
    give_password(page, site)
    page.goto("/second-factor/")
    page.get_by_label("Name of the passkey").fill("Staff laptop")
    page.get_by_label("Current password").fill("not this one")
    page.get_by_role("button", name="Make a passkey").click()
    expect(page.get_by_role("alert")).to_have_text("This is not your current password.")
    make_one(page, site, "Staff laptop")
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    sign_out(page)

    page.get_by_role("button", name="Use a passkey").click()
    expect(page).to_have_url(f"{address}/bank/")
    sign_out(page)

    give_password(page, site)
    expect(page.get_by_role("heading", name="Now your code")).to_be_visible()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page).to_have_url(f"{address}/bank/")

    page.goto("/second-factor/")
    expect(page.locator("bdi")).to_have_text("Staff laptop")
    make_one(page, site, "Second")
    expect(page.get_by_role("alert")).to_have_text("This device holds a passkey of yours already.")
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Remove Staff laptop").click()
    expect(page.get_by_text("This is your only second factor.")).to_be_visible()


def test_without_script_the_code_stays_the_way_in(browser: Browser, site: Site):
    context = browser.new_context(base_url=site.address, java_script_enabled=False)
    page = context.new_page()
    page.goto("/sign-in/")
    expect(page.get_by_role("button", name="Use a passkey")).to_be_hidden()
    expect(page.get_by_role("button", name="Sign in")).to_be_visible()
    context.close()
