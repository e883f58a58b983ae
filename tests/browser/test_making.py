"""A teacher has questions made, looks them through, and saves what is kept."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.people import sign_in_adult


def test_six_are_made_one_rejected_one_replaced_and_five_saved(new_device, site):
    page = new_device()
    sign_in_adult(page, site, "teacher")
    page.get_by_role("link", name="Make questions").click()
    page.get_by_label("How many questions").fill("6")
    page.get_by_label("Difficulty, to").select_option("3")
    page.get_by_label("Seed").fill("21")
    page.get_by_role("button", name="Make them").click()

    made = page.locator("#candidates > li")
    save = page.get_by_role("button", name="Save the kept ones")
    expect(save).to_be_visible()  # once all are made
    expect(made).to_have_count(6)
    expect(page.locator("#kept")).to_have_text("6 questions kept")

    made.nth(1).get_by_role("button", name="Reject").click()
    expect(made.nth(1)).to_contain_text("Rejected")
    expect(page.locator("#kept")).to_have_text("5 questions kept")
    stem = made.nth(3).locator(".strip").inner_html()
    made.nth(3).get_by_role("button", name="Another instead").click()
    expect(made.nth(3).locator(".strip")).not_to_have_js_property("innerHTML", stem)

    page.get_by_label("Tags").fill("made, week 3")
    save.click()
    expect(page.get_by_text(re.compile(r"5 questions are saved: \d+ to \d+\."))).to_be_visible()
    page.get_by_role("link", name="Saved in the bank").first.click()
    expect(page.get_by_role("heading", name=re.compile(r"^Question \d+$"))).to_be_visible()
    page.get_by_role("link", name="week 3").click()
    expect(page.locator(".questions > li")).to_have_count(5)
