"""The colours of every theme, measured.

Source of the formula and the limits: WCAG 2.2 (W3C Recommendation, 5 October 2023), "relative luminance" and
"contrast ratio" in its glossary; success criteria 1.4.3 Contrast (Minimum), 4.5:1 for text, and 1.4.11 Non-text
Contrast, 3:1 for what tells a control or a drawing. The limits are as the standard states them.
"""

import re
from dataclasses import asdict
from pathlib import Path

import pytest

from geometry.pictures.theme import THEMES

CSS = Path(__file__).parent.parent / "static" / "css"
TOKENS = re.sub(r"/\*.*?\*/", "", (CSS / "tokens.css").read_text(), flags=re.S)

SELECTORS = {
    "light": r'\[data-theme="light"\] \{',
    "dark": r'\n\[data-theme="dark"\] \{',
    "contrast": r'\n\[data-theme="contrast"\] \{',
    "print": r"@media print \{[^{]*\{",
}
AS_THE_DEVICE_ASKS = {
    "dark": r"@media \(prefers-color-scheme: dark\) \{[^{]*\{",
    "contrast": r"@media \(prefers-contrast: more\) and \(prefers-color-scheme: light\) \{[^{]*\{",
}

PAPERS = ("sheet", "ground", "well", "turn-soft")
TEXT = (
    *((ink, paper) for ink in ("ink", "ink-2") for paper in PAPERS),
    *(("blue", paper) for paper in (*PAPERS, "blue-wash")),
    *(("red", paper) for paper in (*PAPERS, "red-wash")),
    ("on-turn", "turn"),
    ("on-mat", "mat"),
    ("on-bench", "bench"),
    ("on-bench-2", "bench"),
    ("bench", "on-bench"),  # the main button on the mat
)
MARKS = (
    *(("edge", paper) for paper in ("sheet", "ground", "well")),
    *(("focus", around) for around in ("sheet", "ground", "well", "focus-gap")),
    *(("mat", paper) for paper in ("sheet", "ground")),
    ("on-mat", "mat"),
    ("turn", "bench"),  # focus on the mat
    *((mark, paper) for mark in ("d-line", "d-hole", "d-blue", "d-red") for paper in ("d-front", "d-turned")),
    *((mark, paper) for mark in ("d-line", "d-blue") for paper in ("d-front-opened", "d-turned-opened")),
    *(("d-ghost", paper) for paper in ("sheet", "d-front")),
)


def colours_after(selector: str) -> dict[str, str]:
    """The declarations of the block that ``selector`` opens."""
    opened = re.search(selector, TOKENS)
    assert opened, f"tokens.css has no block {selector}"
    block = TOKENS[opened.end() : TOKENS.index("}", opened.end())]
    return dict(re.findall(r"--([\w-]+):\s*([^;]+);", block))


def luminance(colour: str) -> float:
    """Relative luminance of ``#RRGGBB``, 0 (black) to 1 (white)."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, 1 to 21."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_black_on_white_is_21_to_1():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)


def test_the_darkest_grey_that_passes_on_white_is_767676():
    # Common practice, no published source: #767676 is the lightest grey for text on white, #777777 just fails.
    assert contrast("#767676", "#FFFFFF") >= 4.5 > contrast("#777777", "#FFFFFF")


@pytest.mark.parametrize("theme", SELECTORS)
def test_text_can_be_read_in_every_theme(theme):
    colours = colours_after(SELECTORS[theme])
    found = {pair: contrast(colours[pair[0]], colours[pair[1]]) for pair in TEXT}
    assert {pair: round(ratio, 2) for pair, ratio in found.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("theme", ["light", "dark", "contrast"])
def test_marks_that_mean_something_can_be_seen_in_every_theme(theme):
    colours = colours_after(SELECTORS[theme])
    found = {pair: contrast(colours[pair[0]], colours[pair[1]]) for pair in MARKS}
    assert {pair: round(ratio, 2) for pair, ratio in found.items() if ratio < 3} == {}


def test_print_is_black_on_white_alone():
    colours = colours_after(SELECTORS["print"])
    assert {c for name, c in colours.items() if name not in ("line", "graph")} == {"#000000", "#FFFFFF"}


@pytest.mark.parametrize("theme", AS_THE_DEVICE_ASKS)
def test_a_theme_is_the_same_whether_the_device_or_the_person_asks(theme):
    assert colours_after(AS_THE_DEVICE_ASKS[theme]) == colours_after(SELECTORS[theme])


def test_every_theme_gives_every_colour():
    names = {theme: set(colours_after(selector)) for theme, selector in SELECTORS.items()}
    assert names["dark"] == names["contrast"] - {"line"} == names["light"] - {"line"}
    assert names["print"] == names["light"]


def test_every_colour_of_a_drawing_follows_the_page_and_is_unchanged_in_the_light_theme():
    rules = (CSS / "drawings.css").read_text()
    mapped = dict(re.findall(r'\[(?:fill|stroke)="(#\w+)"\][^{}]*{[^{}]*var\(--([\w-]+)\)', rules))
    light = colours_after(SELECTORS["light"])
    drawn = {value for value in asdict(THEMES["screen"]).values() if str(value).startswith("#")}
    assert set(mapped) == drawn
    assert {colour: light[name] for colour, name in mapped.items()} == {colour: colour for colour in drawn}


def stylesheets():
    return sorted(path for path in CSS.glob("*.css"))


COLOUR = re.compile(r"#(?:[0-9a-fA-F]{3,4}){1,2}\b(?=[^{}]*[;}])|\b(?:rgb|hsl|oklch|lab)a?\(")
ASKED_FOR = re.compile(r'="#\w+"')  # a colour named in a selector


@pytest.mark.parametrize("path", stylesheets(), ids=lambda path: path.name)
def test_colours_are_written_in_tokens_alone(path):
    rules = ASKED_FOR.sub("", re.sub(r"/\*.*?\*/", "", path.read_text(), flags=re.S))
    assert path.name == "tokens.css" or COLOUR.findall(rules) == []


@pytest.mark.parametrize("path", stylesheets(), ids=lambda path: path.name)
def test_stylesheets_use_only_tokens_there_are(path):
    known = set(re.findall(r"--([\w-]+)\s*:", TOKENS))
    rules = path.read_text()
    own = set(re.findall(r"--([\w-]+)\s*:", rules))
    asked = set(re.findall(r"var\(--([\w-]+)\s*\)", rules))  # one with a fallback may be missing
    assert asked - known - own == set()


@pytest.mark.parametrize("path", stylesheets(), ids=lambda path: path.name)
def test_stylesheets_ask_nobody_else_and_can_be_read_in_a_sitting(path):
    rules = path.read_text()
    assert re.findall(r"url\((?!\s*[\"']?(?:\.\./fonts/|#|data:))[^)]*\)", rules) == []
    assert "@import" not in rules
    assert len(rules.splitlines()) <= 400
