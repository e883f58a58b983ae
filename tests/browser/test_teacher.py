"""A teacher's two journeys: write and tag a question; send a set, timed, to a class."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.people import on_each, sign_in_adult, sign_in_pupil


@on_each
def test_a_teacher_writes_a_question_and_finds_it_by_its_tag(new_device, site):
    page = new_device()
    sign_in_adult(page, site, "teacher")
    page.get_by_role("link", name="New question").first.click()
    expect(page.get_by_text(re.compile(r"Unfolded, \d+ holes"))).to_be_visible()

    page.get_by_role("button", name="+ Fold").click()
    page.locator("[data-step=fold-2]").click()
    hand = page.locator("[data-hand=fold-2]")
    hand.get_by_label("bottom edge").check(force=True)
    hand.get_by_label("a third").check(force=True)
    expect(page.locator("#findings")).to_contain_text("Three folds")

    page.locator("[data-step=punch-0]").click()
    page.locator("[data-hand=punch-0]").get_by_label("heart", exact=True).check(force=True)
    page.get_by_label("Place", exact=True).last.fill("7/8, 7/8")
    expect(page.locator("#findings")).to_contain_text("One right answer")
    expect(page.locator("#options li")).to_have_count(5)

    page.get_by_label("Tags", exact=True).fill("hearts, by the corner")
    page.get_by_role("button", name="Save as draft").click()
    expect(page.get_by_role("heading", name=re.compile(r"^Question \d+$"))).to_be_visible()
    expect(page.get_by_text("Draft").first).to_be_visible()
    number = page.get_by_role("heading", level=1).inner_text()

    page.get_by_role("link", name="by the corner").click()
    expect(page).to_have_url(re.compile(r"/bank/\?tag=\d+"))
    expect(page.locator("main")).to_contain_text(number.split()[1])


def test_an_impossible_punch_says_why_and_keeps_what_was_typed(new_device, site):
    page = new_device()
    sign_in_adult(page, site, "teacher")
    page.goto("/bank/new/")
    page.locator("[data-step=punch-0]").click()
    page.get_by_label("Place", exact=True).last.fill("1/8, 1/8")
    expect(page.locator("#says-punch-0")).to_contain_text("does not touch the folded paper")
    page.get_by_label("Tags", exact=True).fill("kept")
    page.get_by_role("button", name="Save, ready to set").click()
    expect(page.locator("#says-punch-0")).to_contain_text("does not touch the folded paper")
    expect(page.get_by_label("Place", exact=True).last).to_have_value("1/8, 1/8")
    expect(page.get_by_label("Tags", exact=True)).to_have_value("kept")


@on_each
def test_a_teacher_sends_a_timed_set_to_a_class(new_device, site):
    page = new_device()
    sign_in_adult(page, site, "teacher")
    page.get_by_role("link", name="Sets").click()
    page.get_by_role("link", name="New set").first.click()
    page.get_by_label("Title").fill("Friday four")
    page.get_by_role("button", name="Choose questions").click()
    boxes = page.get_by_role("checkbox", name=re.compile("Question"))
    for place in range(4):
        boxes.nth(place).check()
    page.get_by_role("button", name="Add to the set").click()
    expect(page.locator("ol.set-questions > li")).to_have_count(4)

    page.get_by_role("link", name="Assign to a class").click()
    page.get_by_label("Time allowed").fill("2:30")
    page.get_by_role("spinbutton", name="Quim").fill("25")
    page.get_by_role("button", name="Assign to 6 Wren").click()
    expect(page.locator("main")).to_contain_text("Friday four")

    pupil = new_device()
    sign_in_pupil(pupil, site, "Quim")
    pupil.get_by_role("link", name=re.compile("Friday four")).click()
    # 150 seconds and a quarter more, rounded up to a whole second.
    expect(pupil.locator("main")).to_contain_text("4 questions. You have 3 minutes 8 seconds.")
