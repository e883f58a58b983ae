"""The page of mistakes and its pictures: every kind has one, and they are what the command writes now."""

from __future__ import annotations

from pathlib import Path

import pytest

from geometry.__main__ import main
from geometry.mistakes import KINDS
from geometry.pictures.mistakes import draw_mistake, example_of
from tests.geometry.svg_reading import read_svg

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("kind", KINDS)
def test_an_example_is_one_mistake_of_its_kind(kind):
    _, candidate = example_of(kind)
    assert [mistake.kind for mistake in candidate.mistakes] == [kind]
    picture = draw_mistake(kind)
    assert picture.title == KINDS[kind].label
    assert picture.description == candidate.mistakes[0].says
    read_svg(picture.svg)


def test_the_page_and_its_pictures_are_what_the_command_writes(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("geometry").mkdir()
    assert main(["mistakes", "--pictures", "static/mistakes", "--page", "geometry/MISTAKES.md"]) == 0
    assert Path("geometry/MISTAKES.md").read_text() == (ROOT / "geometry" / "MISTAKES.md").read_text()
    written = {path.name: path.read_text() for path in Path("static/mistakes").iterdir()}
    assert written == {path.name: path.read_text() for path in (ROOT / "static" / "mistakes").iterdir()}
    assert set(written) == {f"{kind}.svg" for kind in KINDS}
