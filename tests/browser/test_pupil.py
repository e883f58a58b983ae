"""A pupil's journey: answering through a reload, by keys alone, on a second device, with the network cut."""

from __future__ import annotations

import json
import re

from playwright.sync_api import Page, Route, expect

from tests.browser.people import begin, choice, choose, on_each, question, saved, sign_in_pupil
from tests.sites import Site, run

EVENTS = """
import django, json, sys
django.setup()
from assignments.models import Event
rows = Event.objects.filter(sitting__pupil__name=sys.argv[1], sitting__assignment=sys.argv[2], kind="choose")
print(json.dumps(list(rows.order_by("epoch", "seq").values_list("question__position", "option"))))
"""


def kept(site: Site, name: str) -> dict[int, str]:
    """The version's own letter that counts for each question, straight from the database."""
    return dict(json.loads(run(site.environment, "-c", EVENTS, name, str(site.school["open"]))))


def started(page: Page, site: Site, name: str) -> None:
    sign_in_pupil(page, site, name)
    begin(page, "Warm-up")


def test_a_choice_is_kept_through_a_reload(new_device, site):
    page = new_device()
    started(page, site, "Mina")
    choose(page, "C")
    page.get_by_role("button", name="Next").click()
    expect(question(page, 2)).to_be_visible()
    choose(page, "A")
    page.reload()
    expect(question(page, 2)).to_be_visible()
    expect(choice(page, "A")).to_be_checked()
    page.get_by_role("button", name="Back").click()
    expect(choice(page, "C")).to_be_checked()
    choose(page, "B")
    assert kept(site, "Mina") == {1: "B", 2: "A"}


def test_a_choice_made_before_the_script_has_come_is_saved(new_device, site):
    """On a slow network the pictures stand there before the script does."""
    page = new_device()
    waiting: list[Route] = []
    page.route(re.compile(r"/js/sitting\.[^/]*js$"), lambda route: waiting.append(route))
    sign_in_pupil(page, site, "Tove")
    page.get_by_role("link", name="Warm-up").first.click()
    page.get_by_role("button", name="Start").click(no_wait_after=True)
    expect(question(page, 1)).to_be_visible()
    choice(page, "D").check(force=True)
    assert kept(site, "Tove") == {}
    for route in waiting:
        route.continue_()
    expect(saved(page)).to_have_text("Saved")
    assert kept(site, "Tove") == {1: "D"}


@on_each
def test_the_whole_set_by_keys_alone(new_device, site):
    page = new_device()
    started(page, site, "Ola")
    tab_to(page, "Option A")
    for number in range(1, 7):
        expect(question(page, number)).to_be_visible()
        tab_to(page, "Option")
        page.keyboard.press("d")
        expect(choice(page, "D")).to_be_checked()
        page.keyboard.press("ArrowRight")
        expect(choice(page, "E")).to_be_checked()
        expect(saved(page)).to_have_text("Saved")
        tab_to(page, "Look over all" if number == 6 else "Next")
        page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Look over your answers")).to_be_visible()
    expect(page.locator("main")).to_contain_text("Every question has an answer.")
    page.on("dialog", lambda dialog: dialog.accept())
    tab_to(page, "Finish")
    page.keyboard.press("Enter")
    expect(page.get_by_text("You have finished.")).to_be_visible()
    assert kept(site, "Ola") == dict.fromkeys(range(1, 7), "E")


def tab_to(page: Page, name: str) -> None:
    """Press Tab until something so named has the focus; a page where that never happens fails."""
    focused = page.locator(":focus:is(a, button, input, select, textarea, summary)")
    for _ in range(60):
        if focused.count() and name in (focused.get_attribute("aria-label") or focused.inner_text()):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"no focus on {name} within 60 presses of Tab")


@on_each
def test_a_second_device_goes_on_and_the_first_one_stops(new_device, site):
    first, second = new_device(), new_device(viewport={"width": 390, "height": 844}, has_touch=True)
    started(first, site, "Per")
    choose(first, "B")
    sign_in_pupil(second, site, "Per")
    second.get_by_role("link", name="Warm-up").first.click()
    second.get_by_role("button", name="Continue here").click()
    expect(question(second, 2)).to_be_visible()  # the first without an answer
    second.get_by_role("button", name="Back").tap()
    expect(choice(second, "B")).to_be_checked()
    second.locator("label.choice").nth(3).tap()
    expect(saved(second)).to_have_text("Saved")

    choice(first, "A").check(force=True)
    expect(first.get_by_role("link", name="Continue here?")).to_be_visible()
    assert kept(site, "Per") == {1: "D"}
    first.get_by_role("link", name="Continue here?").click()
    first.get_by_role("button", name="Continue here").click()
    first.get_by_role("button", name="Back").click()
    expect(choice(first, "A")).to_be_checked()
    expect(saved(first)).to_have_text("Saved")
    assert kept(site, "Per") == {1: "A"}


def test_answers_given_without_a_network_arrive_when_it_is_back_and_nothing_moves_meanwhile(new_device, site):
    page = new_device(viewport={"width": 390, "height": 844})
    started(page, site, "Quim")
    choose(page, "A")
    header = page.locator(".masthead").bounding_box()
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    for letter in "BCD":
        page.get_by_role("button", name="Next").click()
        choice(page, letter).check(force=True)
    expect(saved(page)).to_contain_text("Not saved yet")
    assert page.locator(".masthead").bounding_box() == header, "the options moved under the finger"
    assert kept(site, "Quim") == {1: "A"}
    page.context.set_offline(False)
    expect(saved(page)).to_have_text("Saved", timeout=20_000)
    assert kept(site, "Quim") == {1: "A", 2: "B", 3: "C", 4: "D"}


def test_without_a_network_the_page_stays_and_a_double_tap_is_one_tap(new_device, site):
    """Leaving would end on a page of the browser's own, with nothing on it for a child to press."""
    page = new_device()
    page.clock.install()
    started(page, site, "Zed")
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Next").dblclick()
    expect(question(page, 2)).to_be_visible()
    notice = page.locator("[data-notice]")
    page.on("dialog", lambda dialog: dialog.accept())

    page.context.set_offline(True)
    page.get_by_role("button", name=re.compile("^All")).click()
    expect(notice).to_contain_text("There is no connection just now.")
    page.context.set_offline(False)
    page.get_by_role("button", name=re.compile("^All")).click()
    expect(page.get_by_role("heading", name="Look over your answers")).to_be_visible()
    page.context.set_offline(True)
    page.get_by_role("button", name="Finish").click()
    expect(notice).to_contain_text("Your choices are saved. Try again in a moment.")
    page.clock.fast_forward("04:00:00")
    expect(notice).to_contain_text("The time is up. There is no connection just now.")
    page.context.set_offline(False)
    page.clock.fast_forward("00:05")
    expect(page.get_by_text("You have started this set.")).to_be_visible()  # by the server's clock it goes on


def test_ruling_out_and_a_rest_break_from_the_keyboard(new_device, site):
    page = new_device()
    started(page, site, "Vida")
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    tab_to(page, "Rule out option B")
    page.keyboard.press("Space")
    out = page.get_by_role("button", name="Rule out option B")
    expect(out).to_have_attribute("aria-pressed", "true")
    expect(saved(page)).to_contain_text("Not saved yet")
    page.context.set_offline(False)
    expect(saved(page)).to_have_text("Saved", timeout=20_000)
    page.reload()
    expect(out).to_have_attribute("aria-pressed", "true")
    choose(page, "B")  # what is chosen is no longer ruled out
    expect(page.locator("[data-strike]").nth(1)).to_have_attribute("aria-pressed", "false")

    tab_to(page, "Take a break")
    page.keyboard.press("Enter")
    expect(page.get_by_text("You are having a break.")).to_be_visible()
    expect(page.locator("main svg")).to_have_count(0)  # no picture of a question
    page.get_by_role("button", name="I am back").click()
    expect(question(page, 2)).to_be_visible()
    assert kept(site, "Vida") == {1: "B"}
