"""What people do in a tab, in the words they see."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.sites import Site

# A journey that is made against each database of a production site.
on_each = pytest.mark.parametrize(
    "site", ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)], indirect=True
)


def sign_in_adult(page: Page, site: Site, role: str) -> None:
    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill(site.school["emails"][role])
    page.get_by_label("Password").fill(site.school["password"])
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(f"{site.address}/bank/")


def sign_in_pupil(page: Page, site: Site, name: str) -> None:
    page.goto("/pupil/")
    page.get_by_label("Class code").fill(site.school["code"])
    page.get_by_label("name").fill(name)
    page.get_by_label("PIN").fill(site.school["pins"][name])
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(f"{site.address}/my/")


def begin(page: Page, title: str) -> None:
    """Open a set of "My sets" and start it."""
    page.get_by_role("link", name=re.compile(title)).first.click()
    page.get_by_role("button", name="Start").click()
    expect(question(page, 1)).to_be_visible()


def question(page: Page, number: int):
    return page.get_by_role("heading", name=re.compile(rf"Question {number} of \d+"))


def choice(page: Page, letter: str):
    return page.get_by_role("radio", name=f"Option {letter}")


def choose(page: Page, letter: str) -> None:
    """Click a picture, and wait until the page calls it saved."""
    choice(page, letter).check(force=True)
    expect(saved(page)).to_have_text("Saved")


def saved(page: Page):
    return page.locator("[data-saved]")
