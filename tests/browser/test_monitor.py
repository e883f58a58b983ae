"""The teacher watches a class; the pupil's page follows when the clock is stopped and started again."""

from __future__ import annotations

import re

from playwright.sync_api import expect

from tests.browser.people import begin, choose, question, sign_in_adult, sign_in_pupil


def test_the_clock_is_stopped_and_started_for_a_page_that_is_open(new_device, site):
    pupil, teacher = new_device(viewport={"width": 390, "height": 844}), new_device()
    sign_in_pupil(pupil, site, "Sefa")
    begin(pupil, "Warm-up")
    sign_in_adult(teacher, site, "teacher")
    teacher.goto(f"/results/{site.school['open']}/monitor/")
    row = teacher.get_by_role("row", name=re.compile("Sefa"))
    expect(row).to_contain_text("0 of 6")
    choose(pupil, "C")
    expect(row).to_contain_text("1 of 6")  # without a reload
    teacher.get_by_label("Note").first.fill("Fire drill")
    teacher.get_by_role("button", name="Stop the clock").click()
    expect(row).to_contain_text("clock stands")
    pupil.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # as when the tablet is woken
    expect(pupil.get_by_text("Your teacher has stopped the clock.")).to_be_visible()
    teacher.get_by_role("button", name="Start the clock again").click()
    expect(question(pupil, 2)).to_be_visible()
    expect(teacher.locator("#monitor")).to_contain_text("Fire drill")
