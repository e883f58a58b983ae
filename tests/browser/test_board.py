"""The board by its keys: forward and back, the countdown, the flap in motion; still where motion is unwanted."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.people import sign_in_adult

TURNING = "[data-stage] clipPath"  # there while a flap turns, and gone when it lies


def board(new_device, site, **options) -> Page:
    page = new_device(**options)
    sign_in_adult(page, site, "teacher")
    page.goto(f"/sets/{site.school['set']}/board/1/")
    return page


def test_keys_lead_through_a_question_and_into_the_next(new_device, site):
    page = board(new_device, site)
    page.get_by_role("button", name="Five seconds less").click()
    page.get_by_role("button", name="Start").click()
    expect(page.get_by_text(re.compile("^2[0-5] s$"))).to_be_visible()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("heading", name="Folded and punched")).to_be_visible()
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("25 s")).to_be_visible()
    for _ in range(20):
        if page.get_by_role("link", name="Next question").count():
            break
        count = page.locator(".board-count, .countdown").text_content()
        page.keyboard.press("PageDown")
        expect(page.locator(".board-count")).not_to_have_text(count)
    expect(page.locator(".board-options .struck")).to_have_count(4)
    expect(page.get_by_role("heading", name=re.compile("is right$"))).to_be_visible()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_text("question 2 of")).to_be_visible()


def test_a_flap_turns_and_then_its_copies_come_unless_motion_is_unwanted(new_device, site):
    for motion in ("no-preference", "reduce"):
        page = board(new_device, site, reduced_motion=motion)
        page.evaluate("""() => new MutationObserver(() => {
            if (document.querySelector("[data-stage] clipPath")) document.documentElement.dataset.turned = "1";
        }).observe(document.body, { subtree: true, childList: true })""")
        while not page.get_by_role("heading", name=re.compile("^Opening fold")).count():
            heading = page.get_by_role("heading").text_content()
            page.keyboard.press("ArrowRight")
            expect(page.get_by_role("heading")).not_to_have_text(heading)
        expect(page.locator("html[data-turned]")).to_have_count(1 if motion == "no-preference" else 0)
        expect(page.locator(TURNING)).to_have_count(0)
        expect(page.locator('[data-stage] path[stroke="#0B4A83"]').first).to_be_visible()
