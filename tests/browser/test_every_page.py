"""Every page, in light, dark and high contrast, wide and at 320 px: accessible, within its width, asking nobody else.

Pages come from the table of permissions, so a new one is looked at as soon as it is there: asked for once, and then
looked at in every way. States that a page only shows after something was done are made at the end. axe-core (Deque
Systems) checks against WCAG 2.0, 2.1 and 2.2 A and AA; its makers say that it finds 57 % of issues, so zero here is
the least, not the proof.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page, expect

from tests.browser.people import begin, choose, sign_in_adult, sign_in_pupil
from tests.permission_table import ROLES, lines
from tests.sites import Site

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SIGN_IN_AS = ("anonymous", "pupil", "teacher", "administrator")  # a head sees the pages of both
# Answers that are no pages: data, pictures, files.
NO_PAGES = re.compile(r"^/health/|^/metrics/|\.csv$|\.json$|/time/$|^/bank/pictures/|^/print/")
WIDE, NARROW = {"width": 1280, "height": 800}, {"width": 320, "height": 640}


def addresses(role: str, site: Site) -> list[str]:
    """The pages that this role may open and none of the roles before it in ``SIGN_IN_AS``."""
    school = site.school
    values = {
        "class": school["class"],
        "pupil": school["pupils"]["Mina"],
        "staff": school["staff"],
        "token": school["token"],
        "question": school["questions"][0],
        "batch": school["batch"],
        "set": school["set"],
        "assignment": school["open"],
        "over": school["closed"],
        "sitting": school["sittings"][0],
        "reviewed": school["sittings"][0],
        "import": school["import"],
        "version": school["version"],
        "place": 1,
    }
    earlier = SIGN_IN_AS[: SIGN_IN_AS.index(role)]
    found = []
    for line in lines():
        words = dict(zip(ROLES, line.get, strict=True))
        if words[role] == "ok" and not any(words[r] == "ok" for r in earlier) and not NO_PAGES.search(line.route):
            things = iter(line.objects)
            found.append(re.sub("<[^>]+>", lambda _, things=things: str(values[next(things)]), line.route))
    return found


def sign_in(page: Page, site: Site, role: str) -> None:
    if role == "pupil":
        sign_in_pupil(page, site, "Mina")
    elif role != "anonymous":
        sign_in_adult(page, site, role)


def faults(page: Page) -> list[str]:
    """What axe-core finds on this page, one line a place: by every rule, and by contrast in the other looks."""
    page.evaluate(AXE_SCRIPT)
    found = by_axe(page, {"type": "tag", "values": RULES})
    for look in ({"color_scheme": "dark"}, {"contrast": "more"}):
        page.emulate_media(**look)
        found += by_axe(page, {"type": "rule", "values": ["color-contrast"]})
        page.emulate_media(color_scheme="light", contrast="no-preference")
    return found


def by_axe(page: Page, rules: dict) -> list[str]:
    found = page.evaluate("rules => axe.run({ runOnly: rules, resultTypes: ['violations'] })", rules)["violations"]
    return [
        f"{rule['id']}: {node['html'][:160]} {node['failureSummary'][:300]}" for rule in found for node in rule["nodes"]
    ]


def sideways(page: Page) -> list[str]:
    """What makes the page wider than a window of 320 CSS pixels, which a page 1280 wide has at 400 %.

    WCAG 2.2, success criterion 1.4.10 (Reflow).
    """
    page.set_viewport_size(NARROW)
    found = page.evaluate(
        """() => {
          const wide = document.documentElement.clientWidth;
          if (document.documentElement.scrollWidth <= wide) return [];
          return [...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > wide + 1)
            .map((e) => e.outerHTML.slice(0, 120)).slice(0, 5);
        }"""
    )
    page.set_viewport_size(WIDE)
    return found


@pytest.mark.parametrize("role", SIGN_IN_AS)
def test_every_page_is_accessible_in_every_look_and_within_320_px(new_device, site, role):
    page = new_device(viewport=WIDE, reduced_motion="reduce")
    sign_in(page, site, role)
    found = {}
    places = addresses(role, site)
    assert places
    for place in places:
        answer = page.goto(place)
        assert answer is not None
        assert answer.status == 200, place
        found[place] = faults(page) + sideways(page)
    assert {place: wrong for place, wrong in found.items() if wrong} == {}


# --- states that only come by doing -------------------------------------------------------------------------
def in_a_sitting(page: Page, site: Site) -> Iterator[str]:
    sign_in_pupil(page, site, "Rika")
    begin(page, "Warm-up")
    yield "a question"
    choose(page, "B")
    page.get_by_role("button", name="Look at this again later").click()
    yield "a question answered and marked"
    page.get_by_role("button", name=re.compile("^All")).click()
    expect(page.get_by_role("heading", name="Look over your answers")).to_be_visible()
    yield "the look over all"


def told_what_is_wrong(page: Page, site: Site) -> Iterator[str]:
    page.goto("/pupil/")
    page.get_by_label("Class code").fill("KTRW-4827")
    page.get_by_label("name").fill("Nobody")
    page.get_by_label("PIN").fill("1")
    page.get_by_role("button", name="Sign in").click()
    yield "a card that does not match"
    sign_in_adult(page, site, "teacher")
    page.goto("/bank/new/")
    page.locator("[data-step=punch-0]").click()
    place = page.get_by_label("Place", exact=True).last
    on_paper = place.input_value()
    place.fill("1/8, 1/8")
    expect(page.locator("#says-punch-0")).to_contain_text("does not touch")
    yield "a punch beside the paper"
    place.fill(on_paper)
    page.locator("[value^=pick-option]").first.click()
    expect(page.locator(".offer").first).to_be_visible()
    yield "wrong pictures to choose from"
    page.locator("[value^=edit-option]").first.click()
    page.locator("[name=hole-0-at]").fill("1, 1")
    expect(page.locator("#says-own")).to_contain_text("Hole 1 lies across the edge")
    yield "a hole by hand off the sheet"
    page.goto(f"/classes/{site.school['class']}/import/")
    page.get_by_role("textbox").first.fill("Name,Extra time\nAla,25\nAla,900\n,0\n")
    page.locator("main form button").first.click()
    yield "a list with faults"
    page.goto(f"/sets/{site.school['set']}/assign/")
    page.get_by_label("Time allowed").fill("soon")
    page.get_by_role("button", name="Assign to 6 Wren").click()
    yield "terms that cannot be"
    page.goto(f"/results/{site.school['closed']}/")
    page.locator("details.menu > summary.button").click()
    yield "a menu of deeds"
    page.goto("/bank/?q=nothing+has+this")
    yield "a search that finds nothing"
    page.goto("/no/such/page/")
    yield "no such page"


@pytest.mark.parametrize("states", [in_a_sitting, told_what_is_wrong])
def test_states_that_come_by_doing_are_as_good(new_device, site, states):
    page = new_device(viewport=WIDE, reduced_motion="reduce")
    found = {state: faults(page) + sideways(page) for state in states(page, site)}
    assert {state: wrong for state, wrong in found.items() if wrong} == {}


def test_the_checks_can_fail(new_device, site):
    """A page with an unnamed field and too wide a box is called so."""
    page = new_device(viewport=WIDE)
    page.goto("/privacy/")
    page.evaluate("document.body.innerHTML = '<main><input><table width=900><td>x</table></main>'")
    assert any(fault.startswith("label") for fault in faults(page))
    assert sideways(page)
