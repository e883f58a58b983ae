"""Templates keep to our content security policy, and ask nothing of anybody else's server.

Source: Content Security Policy Level 3 (W3C): without 'unsafe-inline' neither style="" nor on...="" nor an inline
script takes effect, so each would be a fault that only shows in the browser.
"""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
TEMPLATES = sorted(path for path in ROOT.glob("templates/**/*.html"))
SCRIPTS = sorted(ROOT.glob("static/js/*.js"))
NOTE = re.compile(r"{%\s*comment.*?endcomment\s*%}|{#.*?#}", re.S)


def markup_of(path: Path) -> str:
    return NOTE.sub("", path.read_text())


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def told(faults: Callable[[str], list]) -> dict[str, list]:
    """The files in which something is found, with what: one test looks through them all, which is quicker."""
    found = {name_of(path): faults(markup_of(path)) for path in TEMPLATES}
    return {name: what for name, what in found.items() if what}


def test_there_are_templates_and_scripts_to_look_at():
    assert len(TEMPLATES) > 15
    assert len(SCRIPTS) > 5


def test_no_style_in_a_template():
    assert told(lambda markup: re.findall(r"<style|\sstyle\s*=", markup, re.I)) == {}


def scripts_in(markup: str) -> list:
    scripts = re.findall(r"<script\b([^>]*)>(.*?)</script>", markup, re.I | re.S)
    inline = [
        s
        for s in scripts
        if ("src=" not in s[0] and "application/json" not in s[0]) or ("src=" in s[0] and s[1].strip())
    ]
    return inline + re.findall(r"<[^>]*\s(on[a-z]+|hx-on[^=\s]*)\s*=|javascript:", markup, re.I)


def test_no_script_in_a_template():
    assert told(scripts_in) == {}


def test_no_address_of_another_server_in_a_template():
    address = r"""(?:src|href|action|poster|data)\s*=\s*["'](?:https?:)?//[^"']*"""
    assert told(lambda markup: re.findall(address, markup, re.I)) == {}


def nameless(markup: str) -> list[str]:
    pictures = [tag for tag in re.findall(r"<img\b[^>]*>", markup) if "alt=" not in tag]
    icons = re.findall(r"<svg\b[^>]*>", markup)
    return pictures + [tag for tag in icons if not re.search(r"aria-hidden|role=\"img\"|aria-label", tag)]


def test_every_picture_and_field_has_a_name():
    assert told(nameless) == {}


def without_token(markup: str) -> list[str]:
    forms = re.findall(r"<form\b[^>]*method=[\"']?post[^>]*>.*?</form>", markup, re.I | re.S)
    return [form[:80] for form in forms if "csrf_token" not in form]


def test_every_form_that_changes_something_carries_its_token():
    assert told(without_token) == {}


def test_what_would_be_refused_is_found():
    bad = {
        "script": "<a onclick='x()'></a><script>x()</script><a href='javascript:x()'>",
        "name": "<img src='x'><svg><path></svg>",
        "token": "<form method='post'><input></form>",
    }
    assert [len(scripts_in(bad["script"])), len(nameless(bad["name"])), len(without_token(bad["token"]))] == [3, 2, 1]


def test_scripts_are_short_and_write_no_code():
    codes = r"\beval\(|new Function\(|https?://(?!www\.w3\.org/)"
    found = {
        name_of(path): (re.findall(codes, path.read_text()), len(path.read_text().splitlines())) for path in SCRIPTS
    }
    assert {name: what for name, what in found.items() if what[0] or what[1] > 400} == {}


@pytest.mark.parametrize("code", ["400", "403", "404", "500"])
def test_an_error_page_can_be_written_without_any_context(code):
    from django.template.loader import get_template

    page = get_template(f"{code}.html").render()
    assert "<h1" in page
    assert "To the first page" in page
