"""The workbench by hand: dragging, nudging, undoing, reloading; without a script; and when the line is cut."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from playwright.sync_api import Page, expect

from tests.browser.people import sign_in_adult

UNIT, MARGIN, FRAME = 8400, 600, 9600  # how a picture's units lie on a square sheet


@pytest.fixture
def bench(new_device, site) -> Page:
    page = new_device()
    sign_in_adult(page, site, "teacher")
    page.goto("/bank/new/")
    expect(page.locator("#options li")).to_have_count(5)
    settle(page)
    return page


def settle(page: Page) -> None:
    """Wait as a person does: until what was asked last has come, and nothing more is asked for."""
    page.wait_for_timeout(400)  # longer than a change rests before it is sent
    expect(page.locator(".htmx-request")).to_have_count(0)


def on_sheet(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a point of the sheet is on the screen (while no paper reaches beyond the sheet)."""
    box = page.locator(".mat-step.is-chosen > svg").bounding_box()
    across, down = (MARGIN + UNIT * x) / FRAME, (MARGIN + UNIT * (1 - y)) / FRAME
    return box["x"] + box["width"] * across, box["y"] + box["height"] * down


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*on_sheet(page, *start))
    page.mouse.down()
    page.mouse.move(*on_sheet(page, *end), steps=5)
    page.mouse.up()


def field(page: Page, name: str):
    return page.locator(f"[name='{name}']")


def answer(page: Page):
    return page.locator("#answer figcaption")


def test_a_press_puts_the_punch_and_a_drag_moves_it(bench):
    bench.locator("[data-step=punch-0]").click()
    settle(bench)
    bench.mouse.click(*on_sheet(bench, 0.75, 0.8755))
    expect(field(bench, "punch-0-at")).to_have_value("3/4, 7/8")
    settle(bench)
    drag(bench, (0.75, 0.875), (0.87, 0.62))
    expect(field(bench, "punch-0-at")).to_have_value("7/8, 5/8")
    expect(answer(bench)).to_have_text("Unfolded, 4 holes")


def test_arrow_keys_on_the_sheet_nudge_the_punch(bench):
    bench.locator("[data-step=punch-0]").click()
    field(bench, "punch-0-at").fill("3/4, 3/4")
    bench.locator("[data-mat]").focus()
    for key in ("ArrowRight", "ArrowUp", "ArrowUp"):
        bench.keyboard.press(key)
    expect(field(bench, "punch-0-at")).to_have_value("19/24, 5/6")


def test_a_drag_brings_a_corner_to_where_it_lands(bench):
    drag(bench, (0.01, 0.99), (0.5, 0.5))  # near the corner: the corner is meant
    expect(field(bench, "fold-0-bring")).to_have_value("0, 1")
    expect(field(bench, "fold-0-to")).to_have_value("1/2, 1/2")
    expect(bench.locator("[data-hand=fold-0]").get_by_label("A point to a point")).to_be_checked()
    expect(bench.locator("#findings")).to_contain_text("Two folds, one of them slanting")


def test_all_is_seen_together_and_a_flat_sheet_is_folded_by_a_drag(bench):
    """In a window of 1280 x 800; what is opened among the checks stays open when they come anew."""
    for name in (
        ".steps",
        ".mat-step.is-chosen",
        ".hands",
        "#answer",
        "#findings",
        "#id_tags",
        "#options .why >> nth=4",
    ):
        box = bench.locator(name).bounding_box()
        assert box["y"] + box["height"] <= 800, f"{name} reaches below the window"
    bench.locator("#findings").get_by_text("Options tell apart").click()
    for step in ("punch-0", "fold-1", "fold-0"):
        bench.locator(f"[data-step={step}]").click()
        bench.locator(f"[data-hand={step}]").get_by_role("button", name="Remove").click()
        expect(bench.locator(f"[data-step={step}]")).to_have_count(0)
    drag(bench, (0.01, 0.99), (0.5, 0.5))
    expect(field(bench, "fold-0-to")).to_have_value("1/2, 1/2")
    bench.get_by_role("button", name="+ Punch").click()
    expect(bench.get_by_text("Any two options differ visibly")).to_be_visible()


def test_an_impossible_drag_says_why_and_leaves_the_sheet(bench):
    bench.locator("[data-step=fold-1]").click()
    shown = bench.locator(".mat-step.is-chosen desc")
    before = shown.text_content()
    drag(bench, (0.125, 0.125), (0.25, 0.125))  # where no paper is left
    expect(bench.locator("[data-snap-says]")).to_have_text("There is no paper there to take hold of.")
    drag(bench, (0.505, 0.99), (0.125, 0.99))  # the whole paper would move
    expect(bench.locator("#mat-says")).to_contain_text("The crease of fold 2 misses the paper")
    expect(bench.locator("[data-step=fold-1] .flag svg")).to_be_visible()
    assert shown.text_content() == before
    # its crease is on the paper, crossed out: upright, at (0.5 + 0.125) / 2 of the sheet
    crease = bench.locator(".mat-step.is-chosen .refused.line").bounding_box()
    assert crease["x"] + crease["width"] / 2 == pytest.approx(on_sheet(bench, 0.3125, 0.5)[0], abs=2)
    expect(bench.locator(".mat-step.is-chosen .refused.sign")).to_have_count(2)
    bench.locator("#mat-says").get_by_role("button", name="Take it back").click()
    expect(bench.locator("#mat-says")).to_be_empty()
    expect(bench.locator(".refused")).to_have_count(0)
    expect(field(bench, "fold-1-place").and_(bench.get_by_label("bottom edge"))).to_be_checked()


def test_a_drag_snaps_to_the_paper_and_says_to_what(bench):
    bench.mouse.move(*on_sheet(bench, 0.012, 0.988))
    bench.mouse.down()
    for place, says in (
        ((0.49, 0.015), "Brings the top left corner to the middle of the bottom edge."),
        ((0.41, 0.6), "Brings the top left corner along a 45° line, to 5/12, 7/12."),
        ((0.99, 0.345), "Brings the top left corner to a third along the right edge."),
    ):
        bench.mouse.move(*on_sheet(bench, *place), steps=3)
        expect(bench.locator("[data-snap-says]")).to_have_text(says)
    bench.mouse.up()
    expect(field(bench, "fold-0-to")).to_have_value("1, 1/3")


def test_a_sheet_drawn_anew_under_a_drag_lets_it_land_right(bench):
    """The answer to a change made before comes while the pointer holds a corner, and the other step was shown then."""
    held, on_the_way, landing = (on_sheet(bench, *at) for at in ((0.01, 0.01), (0.3, 0.3), (0.505, 0.495)))
    bench.locator("[data-hand=fold-0] .depth").get_by_label("a quarter").check(force=True)
    bench.mouse.move(*held)
    bench.mouse.down()
    bench.mouse.move(*on_the_way, steps=2)
    expect(bench.locator(".mat-step").first.locator("desc")).to_contain_text("left edge")
    bench.mouse.move(*landing, steps=2)
    expect(bench.locator(".pulled-flap")).to_have_count(1)
    bench.mouse.up()
    expect(field(bench, "fold-0-bring")).to_have_value("0, 0")
    expect(field(bench, "fold-0-to")).to_have_value("1/2, 1/2")
    expect(bench.locator(".mat-step").first.locator("desc")).to_contain_text("bottom left corner")


def test_handles_turn_and_size_a_punch_and_buttons_do_the_same(bench):
    bench.locator("[data-step=punch-0]").click()
    for grip, place in (("turn", (0.95, 0.6875)), ("size", (0.96, 0.54))):
        settle(bench)
        box = bench.locator(f"[data-grip={grip}]").bounding_box()
        bench.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        bench.mouse.down()
        bench.mouse.move(*on_sheet(bench, *place), steps=3)
        expect(bench.locator("#answer .die-ghost")).to_have_count(4)  # the unfolded sheet follows at once
        bench.mouse.up()
    expect(field(bench, "punch-0-turn")).to_have_value("270")
    expect(field(bench, "punch-0-size")).to_have_value("17/48")
    hand = bench.locator("[data-hand=punch-0]")
    hand.get_by_role("button", name="Smaller").click()
    hand.get_by_role("button", name="Turn left by 45°").click()
    bench.locator("[data-mat]").focus()
    bench.keyboard.press("Shift+ArrowDown")
    bench.keyboard.press("Shift+ArrowRight")
    expect(field(bench, "punch-0-turn")).to_have_value("300")
    expect(field(bench, "punch-0-size")).to_have_value("5/16")


def test_a_hole_is_moved_by_pointer_and_by_keys_undone_and_saved_as_the_teachers_own(bench):
    """The square is folded in half twice, so the holes of its pictures lie at sixteenths (worked out by hand)."""
    bench.locator("[value^=edit-option]").first.click()
    place = field(bench, "hole-0-at")
    before = place.input_value()
    sheet = bench.locator("[data-hand-sheet] svg")
    sheet.scroll_into_view_if_needed()
    box = sheet.bounding_box()

    def over(x: float, y: float) -> tuple[float, float]:
        across, down = (MARGIN + UNIT * x) / FRAME, (MARGIN + UNIT * (1 - y)) / FRAME
        return box["x"] + box["width"] * across, box["y"] + box["height"] * down

    x, y = (float(Fraction(part.strip())) for part in before.split(","))
    bench.mouse.move(*over(x, y))
    bench.mouse.down()
    bench.mouse.move(*over(0.375, 0.5), steps=3)
    bench.mouse.up()
    expect(place).to_have_value("3/8, 1/2")
    expect(bench.locator("#says-own")).to_contain_text("Changed by hand, and fit to be an option.")
    bench.keyboard.press("ArrowUp")
    bench.keyboard.press("Shift+ArrowLeft")
    expect(place).to_have_value("3/8, 13/24")
    settle(bench)
    bench.get_by_role("button", name="Done").click()
    expect(bench.locator(".by-hand")).to_have_count(1)
    bench.get_by_role("button", name="Undo").click()
    expect(place).to_have_value("3/8, 13/24")
    bench.get_by_role("button", name="Redo").click()
    expect(bench.locator(".by-hand")).to_have_count(1)
    bench.get_by_role("button", name="Save as draft").click()
    expect(bench.get_by_text("made by hand, so no mistake has a name for it")).to_be_visible()


def test_every_change_can_be_taken_back_and_made_again(bench):
    place = bench.locator("[data-hand=fold-0] .compass")
    place.get_by_label("top edge").check(force=True)
    expect(bench.locator(".mat-step.is-chosen desc")).to_contain_text("top half")
    settle(bench)
    bench.get_by_role("button", name="+ Fold").click()
    expect(bench.locator("[data-step]")).to_have_count(4)
    settle(bench)
    bench.get_by_role("button", name="Undo").click()
    expect(bench.locator("[data-step]")).to_have_count(3)
    settle(bench)
    bench.get_by_role("button", name="Undo").click()
    expect(bench.locator("[data-hand=fold-0]").get_by_label("left edge")).to_be_checked()
    bench.get_by_role("button", name="Redo").click()
    expect(bench.locator("[data-hand=fold-0]").get_by_label("top edge")).to_be_checked()


def test_undo_pressed_before_a_change_is_answered_takes_that_change_back(bench):
    bench.locator("[data-hand=fold-0] .depth").get_by_label("a third").check(force=True)
    settle(bench)
    line = bench.context.new_cdp_session(bench)
    line.send("Network.enable")
    slow = {"offline": False, "latency": 1000, "downloadThroughput": -1, "uploadThroughput": -1}
    line.send("Network.emulateNetworkConditions", slow)
    bench.get_by_role("button", name="+ Fold").click(no_wait_after=True)
    bench.get_by_role("button", name="Undo").click(no_wait_after=True)
    line.send("Network.emulateNetworkConditions", slow | {"latency": 0})
    expect(bench.get_by_role("button", name="Redo")).to_be_enabled()
    settle(bench)
    expect(bench.locator("[data-step]")).to_have_count(3)
    expect(bench.locator("[data-hand=fold-0] .depth").get_by_label("a third")).to_be_checked()
    bench.get_by_role("button", name="Redo").click()
    expect(bench.locator("[data-step]")).to_have_count(4)


def test_what_is_not_saved_outlives_a_reload_and_is_forgotten_once_saved(bench):
    bench.get_by_label("Tags", exact=True).fill("half made")
    bench.get_by_role("button", name="+ Punch").click()
    expect(answer(bench)).to_have_text("Unfolded, 8 holes")
    bench.reload()
    expect(bench.get_by_text("What you had not saved is back.")).to_be_visible()
    expect(answer(bench)).to_have_text("Unfolded, 8 holes")
    expect(bench.get_by_label("Tags", exact=True)).to_have_value("half made")
    bench.get_by_role("button", name="Save as draft").click()
    expect(bench.get_by_role("heading", name=re.compile(r"^Question \d+$"))).to_be_visible()
    bench.goto("/bank/new/")
    expect(answer(bench)).to_have_text("Unfolded, 4 holes")
    expect(bench.get_by_text("What you had not saved is back.")).to_be_hidden()


def test_what_is_back_can_be_put_aside_for_a_fresh_sheet_and_fetched_again(bench):
    bench.get_by_label("Tags", exact=True).fill("half made")
    bench.get_by_role("button", name="+ Punch").click()
    expect(answer(bench)).to_have_text("Unfolded, 8 holes")
    settle(bench)
    bench.goto("/bank/new/")
    bench.get_by_role("button", name="Start afresh").click()
    expect(answer(bench)).to_have_text("Unfolded, 4 holes")
    expect(bench.get_by_label("Tags", exact=True)).to_have_value("")
    expect(bench.get_by_text("What you had not saved is back.")).to_be_hidden()
    bench.get_by_role("button", name="Undo").click()
    expect(answer(bench)).to_have_text("Unfolded, 8 holes")
    expect(bench.get_by_label("Tags", exact=True)).to_have_value("half made")


@pytest.mark.parametrize("size", [(390, 844), (820, 1180), (1280, 1024)])
def test_the_caption_stands_beside_the_paper(bench, size):
    bench.set_viewport_size({"width": size[0], "height": size[1]})
    for step in ("fold-0", "punch-0"):
        bench.locator(f"[data-step={step}]").click()
        caption = bench.locator(".mat-step.is-chosen figcaption").bounding_box()
        paper = bench.locator(".mat-step.is-chosen > svg").bounding_box()
        assert caption["x"] + caption["width"] <= paper["x"] + paper["width"] * MARGIN / FRAME
        assert paper["width"] >= 200


def test_what_is_opened_beside_the_paper_comes_into_sight(bench):
    """In a window of 1280 x 800 the column scrolls; also for the corners of a polygon."""
    bench.locator("summary", has_text="Sheet of paper").click()
    side = bench.locator(".bench-side").bounding_box()
    shape = bench.get_by_label("Shape", exact=True).last
    expect(shape).to_be_in_viewport()
    box = shape.bounding_box()
    assert box["y"] + box["height"] <= side["y"] + side["height"]
    shape.select_option("polygon")
    corners = bench.get_by_label("Corners, one a line").bounding_box()
    assert corners["y"] < side["y"] + side["height"] - 40


def test_a_cut_line_is_told_and_loses_nothing(bench, watch):
    bench.get_by_label("Tags", exact=True).fill("by a thread")
    bench.context.set_offline(True)
    bench.get_by_role("button", name="Save as draft").click()
    expect(bench.get_by_text("The server cannot be reached. Nothing is lost")).to_be_visible()
    bench.context.set_offline(False)
    watch.faults.clear()  # the cut line itself
    bench.get_by_role("button", name="Save as draft").click()
    expect(bench.get_by_role("link", name="by a thread")).to_be_visible()


def test_a_question_is_composed_by_keyboard_alone(bench):
    bench.locator("#step-fold-0").focus()
    bench.keyboard.press("ArrowDown")
    expect(bench.locator("[data-hand=fold-1]")).to_be_visible()
    bench.locator("[data-hand=fold-1] .compass input:checked").focus()
    bench.keyboard.press("ArrowLeft")
    expect(bench.locator("[data-hand=fold-1]").get_by_label("bottom left corner")).to_be_checked()
    bench.locator("[data-hand=fold-1] .way input:checked").focus()
    bench.keyboard.press("ArrowRight")
    expect(bench.locator("#findings")).to_contain_text("slanting")
    bench.locator("#step-fold-1").focus()
    bench.keyboard.press("ArrowDown")
    expect(bench.locator("[data-hand=punch-0]")).to_be_visible()
    # a button brings the form anew, and the focus stays with what it was about
    for button, lands in (
        ("[value=add-punch]", "#step-punch-1"),
        ("[value=right-option-0]", "[value=right-option-1]"),
        ("[value^=lock-option]", "[value^=unlock-option]"),
    ):
        bench.locator(button).first.press("Enter")
        expect(bench.locator(lands)).to_be_focused()
    field(bench, "punch-1-at").fill("1/8, 1/8")
    settle(bench)
    bench.get_by_role("button", name="Save, ready to set").press("Enter")
    expect(bench.locator("[data-not-saved]")).to_be_focused()
    bench.get_by_role("button", name="Put it on the paper").press("Enter")
    expect(bench.locator("#bench-heard")).to_contain_text("Punch 2 was moved to")
    bench.get_by_role("button", name="Save, ready to set").press("Enter")
    expect(bench.get_by_role("heading", name=re.compile(r"^Question \d+$"))).to_be_visible()


def test_a_fold_that_takes_a_punch_along_is_one_change(bench):
    place, compass = field(bench, "punch-0-at"), bench.locator("[data-hand=fold-0] .compass")
    compass.get_by_label("right edge").check(force=True)
    expect(place).not_to_have_value("13/16, 11/16")
    settle(bench)
    bench.get_by_role("button", name="Undo").click()
    expect(compass.get_by_label("left edge")).to_be_checked()
    expect(place).to_have_value("13/16, 11/16")
    expect(bench.get_by_role("button", name="Undo")).to_be_disabled()


def test_two_tabs_on_one_question_lose_nothing(bench):
    bench.get_by_role("button", name="Save as draft").click()
    bench.get_by_role("link", name="Edit").click()
    expect(bench.locator("#options li")).to_have_count(5)
    other = bench.context.new_page()
    other.goto(bench.url)
    other.locator("[data-hand=fold-0] .depth").get_by_label("a third").check(force=True)
    other.get_by_role("button", name="Save as draft").click()
    expect(other.get_by_role("heading", name=re.compile(r"^Question \d+$"))).to_be_visible()
    bench.locator("[data-hand=fold-0] .depth").get_by_label("a quarter").check(force=True)
    bench.get_by_role("button", name="Save as draft").click()
    expect(bench.get_by_text("saved version 2 of this question while you were editing")).to_be_visible()
    expect(bench.locator("[data-hand=fold-0] .depth").get_by_label("a quarter")).to_be_checked()
    bench.get_by_role("button", name="Save mine as the next version, a draft").click()
    expect(bench.get_by_role("link", name="Version 3")).to_be_visible()


def test_it_works_without_a_script(new_device, site):
    page = new_device(java_script_enabled=False)
    sign_in_adult(page, site, "teacher")
    page.goto("/bank/new/")
    page.locator("[data-hand=fold-1]").get_by_label("top right corner").check(force=True)
    page.locator("[data-hand=fold-1] .depth").get_by_label("a quarter").check(force=True)
    page.get_by_role("button", name="Show").last.click()
    expect(page.locator("#findings")).to_contain_text("slanting")
    page.get_by_role("button", name="+ Punch").click()
    expect(page.locator("[data-hand=punch-1]")).to_be_visible()
    page.get_by_role("button", name="Save as draft").click()
    expect(page.get_by_role("heading", name=re.compile(r"^Question \d+$"))).to_be_visible()


def test_filters_act_at_once_and_live_in_the_address(bench):
    bench.goto("/bank/")
    rows = bench.locator(".questions > li")
    before = rows.count()
    bench.get_by_role("group", name="Folds").get_by_label("1 fold").check()
    expect(bench).to_have_url(re.compile(r"folds=1"))
    expect(rows).not_to_have_count(before)
    address = bench.url
    bench.locator("#q").fill("nowhere to be found")
    expect(bench.get_by_text("No question has all of these.")).to_be_visible()
    bench.goto(address)
    expect(bench.get_by_role("group", name="Folds").get_by_label("1 fold")).to_be_checked()
