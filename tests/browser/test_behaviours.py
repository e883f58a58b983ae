"""The small behaviours that any page may use, each on a page of its own with nothing else running."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route

JS = Path(__file__).parent.parent.parent / "static" / "js"
ADDRESS = "http://pages.example"
ALL = "".join(
    f'<script type="module" src="/js/{name}.js"></script>'
    for name in ("look", "menus", "confirm", "busy", "keep-typed", "reveal", "copy")
)
FORM = (
    '<form data-keep-typed="class" action="/next/" method="post"><textarea name="note"></textarea>'
    '<input type="checkbox" name="archived"><input type="password" name="pin"><button>Save</button></form>'
)


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(permissions=["clipboard-read", "clipboard-write"])
    context.set_default_timeout(5000)
    yield context
    context.close()


@pytest.fixture
def show(context: BrowserContext) -> Callable[[dict[str, str]], Page]:
    """Serve these bodies by path, and our scripts; answer a tab on the first of them."""

    def show(bodies: dict[str, str], *, person: str = "7") -> Page:
        def answer(route: Route) -> None:
            path = route.request.url.removeprefix(ADDRESS)
            if path.startswith("/js/"):
                route.fulfill(path=JS / path.removeprefix("/js/"), content_type="text/javascript")
                return
            route.fulfill(
                content_type="text/html",
                body=f'<!doctype html><html><head><script src="/js/look-early.js"></script></head>'
                f'<body data-person="{person}">{bodies.get(path, "")}{ALL}</body></html>',
            )

        context.unroute("**/*")
        context.route("**/*", answer)
        page = context.pages[0] if context.pages else context.new_page()
        page.goto(ADDRESS + next(iter(bodies)))
        return page

    return show


def test_a_refused_question_sends_nothing(show):
    page = show(
        {"/": '<form action="/gone/"><button data-confirm="Remove Fenna?" data-busy="Removing">Remove</button></form>'}
    )
    asked: list[str] = []
    page.once("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.click("button")
    assert asked == ["Remove Fenna?"]
    assert page.url == ADDRESS + "/"
    assert page.inner_text("button") == "Remove"


def test_an_accepted_question_sends_the_form(show):
    page = show({"/": '<form action="/gone/" data-confirm="Remove Fenna?"><button>Remove</button></form>'})
    page.once("dialog", lambda dialog: dialog.accept())
    page.click("button")
    page.wait_for_url("**/gone/**")


def test_a_busy_button_says_so_keeps_its_width_and_sends_once(show, context):
    page = show({"/": '<form action="/slow/"><button data-busy="Saving">Save this long name</button></form>'})
    sent: list[str] = []
    context.route("**/slow/**", lambda route: (sent.append(route.request.url), route.fulfill(status=204)))
    width = page.locator("button").bounding_box()["width"]
    page.evaluate("document.querySelector('button').click(); document.querySelector('button').click()")
    page.wait_for_function("document.querySelector('button').getAttribute('aria-busy') === 'true'")
    assert page.inner_text("button") == "Saving…"
    assert page.locator("button").bounding_box()["width"] == pytest.approx(width, abs=1)
    assert len(sent) == 1


def test_show_and_hide_a_pin_which_is_hidden_again_when_sent(show):
    page = show(
        {"/": '<form action="/next/"><input type="password" id="pin" name="pin">'
              '<button type="button" data-reveal="pin">Show</button><button id="go">Go</button></form>'}
    )  # fmt: skip
    page.click("[data-reveal]")
    assert (page.get_attribute("#pin", "type"), page.inner_text("[data-reveal]")) == ("text", "Hide")
    assert page.get_attribute("[data-reveal]", "aria-pressed") == "true"
    page.evaluate("document.querySelector('form').addEventListener('submit', (e) => e.preventDefault())")
    page.click("#go")
    assert page.get_attribute("#pin", "type") == "password"


def test_a_menu_closes_on_escape_on_a_press_elsewhere_and_when_focus_leaves(show):
    page = show(
        {"/": "<details data-menu><summary>Edda</summary><a href='#'>Password</a></details><button>Else</button>"}
    )
    is_open = "document.querySelector('details').open"
    page.click("summary")
    page.keyboard.press("Escape")
    assert not page.evaluate(is_open)
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"
    page.click("summary")
    page.click("button")
    assert not page.evaluate(is_open)
    page.click("summary")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert not page.evaluate(is_open)


def test_copy_copies_and_says_so(show):
    page = show({"/": '<button data-copy="KTRW-4827">Copy</button>'})
    # the clipboard belongs to pages on a secure address; here it stands in for the device's
    page.evaluate(
        "Object.defineProperty(navigator, 'clipboard', {value: {writeText: async (t) => (window.copied = t)}})"
    )
    page.click("button")
    page.wait_for_function("document.querySelector('button').textContent === 'Copied'")
    assert page.evaluate("window.copied") == "KTRW-4827"


def test_colours_and_text_size_are_kept_on_the_device_and_there_before_the_page_is_painted(show):
    form = (
        '<form data-look><input type="radio" name="theme" value="" checked>'
        '<input type="radio" name="theme" value="dark"><input type="radio" name="text" value="" checked>'
        '<input type="radio" name="text" value="large"></form>'
    )
    page = show({"/": form, "/bare/": ""})
    page.check('[value="dark"]')
    page.check('[value="large"]')
    page.goto(ADDRESS + "/bare/")  # a page without the form
    assert page.evaluate("({...document.documentElement.dataset})") == {
        "script": "on",
        "theme": "dark",
        "text": "large",
    }
    page.goto(ADDRESS + "/")
    assert page.is_checked('[value="dark"]')
    page.check('[name="theme"][value=""]')
    page.reload()
    assert page.evaluate("'theme' in document.documentElement.dataset") is False


def test_what_is_typed_survives_a_reload_but_no_pin_does(show):
    page = show({"/": FORM})
    page.fill("textarea", "half a sentence")
    page.check('[type="checkbox"]')
    page.fill('[type="password"]', "482715")
    page.reload()
    assert page.input_value("textarea") == "half a sentence"
    assert page.is_checked('[type="checkbox"]')
    assert page.input_value('[type="password"]') == ""
    assert "not been saved yet" in page.inner_text("form .message")
    assert "482715" not in page.evaluate("JSON.stringify(sessionStorage)")


def test_what_was_saved_is_not_brought_back(show):
    page = show({"/": FORM, "/next/": "<p>Saved</p>"})
    page.fill("textarea", "a whole sentence")
    page.click("button")
    page.wait_for_url("**/next/")
    page.goto(ADDRESS + "/")
    assert page.input_value("textarea") == ""


def test_what_was_sent_into_a_signed_out_session_is_brought_back(show):
    page = show({"/": FORM, "/next/": "<main data-not-saved><h1>Sign in</h1></main>"})
    page.fill("textarea", "a whole sentence")
    page.click("button")
    page.wait_for_url("**/next/")
    page.goto(ADDRESS + "/")
    assert page.input_value("textarea") == "a whole sentence"


def test_nobody_else_on_the_device_sees_what_was_typed(show):
    page = show({"/": FORM})
    page.fill("textarea", "about a pupil")
    page = show({"/": FORM}, person="8")
    assert page.input_value("textarea") == ""


def test_signing_out_forgets_what_was_typed(show):
    page = show({"/": FORM + '<form data-sign-out action="/out/"><button id="out">Sign out</button></form>'})
    page.fill("textarea", "about a pupil")
    page.click("#out")
    page.wait_for_url("**/out/**")
    assert page.evaluate("sessionStorage.length") == 0


def test_a_form_that_comes_later_is_kept_too(show):
    page = show({"/": "<main></main>"})
    page.evaluate(
        "(form) => { const main = document.querySelector('main'); main.innerHTML = form;"
        " main.firstElementChild.dispatchEvent(new CustomEvent('htmx:load', {bubbles: true})) }",
        FORM,
    )
    page.fill("textarea", "typed after a swap")
    assert "typed after a swap" in page.evaluate("JSON.stringify(sessionStorage)")
