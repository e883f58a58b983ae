"""Typing in answers from paper: one key an answer, the cursor moves on by itself, gaps are told."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

SCRIPT = Path(__file__).parent.parent.parent / "static" / "js" / "paper-marks.js"
ROW = (
    "<tr><th>{name}</th><td><input data-answers='5' maxlength='10' aria-label='{name}'></td>"
    "<td data-answers-state></td></tr>"
)
GRID = (
    "<form data-paper-marks action='/saved/'><table>{rows}</table><button>Save</button>"
    "<span data-answers-gaps></span></form>"
)


@pytest.fixture
def grid(browser: Browser):
    context = browser.new_context()
    context.set_default_timeout(5000)
    page = context.new_page()
    page.set_content(GRID.format(rows="".join(ROW.format(name=name) for name in ("Fenna", "Galen", "Wim"))))
    page.add_script_tag(path=SCRIPT, type="module")
    page.get_by_label("Fenna").click()
    yield page
    context.close()


def values(page: Page) -> list[str]:
    return [page.get_by_label(name).input_value() for name in ("Fenna", "Galen", "Wim")]


def test_a_full_row_hands_the_cursor_to_the_next(grid):
    grid.keyboard.type("abcde" + "ed-ba")
    expect(grid.get_by_label("Wim")).to_be_focused()
    assert values(grid) == ["ABCDE", "ED-BA", ""]


def test_other_keys_do_nothing_and_a_full_row_takes_no_more(grid):
    grid.keyboard.type("afx b1c")
    assert values(grid)[0] == "ABC"
    grid.keyboard.type("de")
    grid.get_by_label("Fenna").focus()
    grid.keyboard.press("End")
    grid.keyboard.type("a")
    assert values(grid) == ["ABCDE", "", ""]


def test_a_letter_is_typed_over_what_stands_there(grid):
    grid.keyboard.type("abcd")
    grid.keyboard.press("Home")
    grid.keyboard.press("ArrowRight")
    grid.keyboard.type("e")
    assert values(grid)[0] == "AECD"
    grid.keyboard.press("Backspace")
    assert values(grid)[0] == "ACD"


def test_arrows_and_enter_change_rows_and_send_nothing(grid):
    grid.keyboard.type("ab")
    grid.keyboard.press("ArrowDown")
    grid.keyboard.type("c")
    grid.keyboard.press("Enter")
    grid.keyboard.type("d")
    grid.keyboard.press("ArrowUp")
    expect(grid.get_by_label("Galen")).to_be_focused()
    assert values(grid) == ["AB", "C", "D"]
    assert "saved" not in grid.url


def test_gaps_are_told_beside_each_row_and_beside_the_button(grid):
    grid.keyboard.type("a-c-e" + "ab")
    states = grid.locator("[data-answers-state]").all_text_contents()
    assert states == ["left out: 2, 4", "2 of 5", ""]
    assert grid.locator("[data-answers-gaps]").text_content() == "Not complete: Galen."
    grid.keyboard.type("cde")
    assert grid.locator("[data-answers-gaps]").text_content() == ""


def test_what_is_pasted_is_tidied(grid):
    grid.get_by_label("Fenna").fill("a b. d\u2013zz")
    assert values(grid)[0] == "AB-D-"
