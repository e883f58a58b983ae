"""Templates keep to our content security policy, and ask nothing of anybody else's server.

Source: Content Security Policy Level 3 (W3C): without 'unsafe-inline' neither style="" nor on...="" nor an inline
script takes effect, so each would be a fault that only shows in the browser.
"""

import re
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


each_template = pytest.mark.parametrize("path", TEMPLATES, ids=name_of)


def test_there_are_templates_and_scripts_to_look_at():
    assert len(TEMPLATES) > 15
    assert len(SCRIPTS) > 5


@each_template
def test_no_style_in_a_template(path):
    assert re.findall(r"<style|\sstyle\s*=", markup_of(path), re.I) == []


@each_template
def test_no_script_in_a_template(path):
    scripts = re.findall(r"<script\b([^>]*)>(.*?)</script>", markup_of(path), re.I | re.S)
    assert [
        s
        for s in scripts
        if ("src=" not in s[0] and "application/json" not in s[0]) or ("src=" in s[0] and s[1].strip())
    ] == []
    assert re.findall(r"<[^>]*\s(on[a-z]+|hx-on[^=\s]*)\s*=|javascript:", markup_of(path), re.I) == []


@each_template
def test_no_address_of_another_server_in_a_template(path):
    found = re.findall(r"""(?:src|href|action|poster|data)\s*=\s*["'](?:https?:)?//[^"']*""", markup_of(path), re.I)
    assert found == []


@each_template
def test_every_picture_and_field_has_a_name(path):
    markup = markup_of(path)
    assert [tag for tag in re.findall(r"<img\b[^>]*>", markup) if "alt=" not in tag] == []
    icons = re.findall(r"<svg\b[^>]*>", markup)
    assert [tag for tag in icons if not re.search(r"aria-hidden|role=\"img\"|aria-label", tag)] == []


@each_template
def test_every_form_that_changes_something_carries_its_token(path):
    markup = markup_of(path)
    forms = re.findall(r"<form\b[^>]*method=[\"']?post[^>]*>.*?</form>", markup, re.I | re.S)
    assert [form[:80] for form in forms if "csrf_token" not in form] == []


@pytest.mark.parametrize("path", SCRIPTS, ids=name_of)
def test_scripts_are_short_and_write_no_code(path):
    script = path.read_text()
    assert re.findall(r"\beval\(|new Function\(|https?://(?!www\.w3\.org/)", script) == []
    assert len(script.splitlines()) <= 400


@pytest.mark.parametrize("code", ["400", "403", "404", "500"])
def test_an_error_page_can_be_written_without_any_context(code):
    from django.template.loader import get_template

    page = get_template(f"{code}.html").render()
    assert "<h1" in page
    assert "To the first page" in page
