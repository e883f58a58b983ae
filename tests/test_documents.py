"""README, DEVELOPERS and PRIVACY say what is so."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
DOCUMENTS = ("README.md", "DEVELOPERS.md", "PRIVACY.md", "config/SECURITY.md", "config/CAPACITY.md")
README = (ROOT / "README.md").read_text()
SETTINGS = (ROOT / "config" / "settings.py").read_text()
MAKEFILE = (ROOT / "Makefile").read_text()


def variables_of_readme() -> dict[str, str]:
    """Each environment variable of README's table with the default it names."""
    rows = re.findall(r"^\| `([A-Z_]+)` \| (.*?) \|", README, re.M)
    return {name: default.strip("`") for name, default in rows}


def test_readme_lists_every_variable_that_the_settings_read():
    assert set(variables_of_readme()) == set(re.findall(r'env\.\w+\(\s*"([A-Z_]+)"', SETTINGS))


def test_readme_gives_the_defaults_that_the_settings_have():
    defaults = re.findall(r'env\.(?:str|int|bool)\("([A-Z_]+)", ("[^"]+"|\d+|True|False)\)', SETTINGS)
    spelt = {"True": "1", "False": "0"}
    assert len(defaults) >= 6
    told = variables_of_readme()
    assert {name: told[name] for name, _ in defaults} == {
        name: spelt.get(value, value.strip('"')) for name, value in defaults
    }


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_make_target_that_is_named_exists(name):
    targets = re.findall(r"^([a-z]+):", MAKEFILE, re.M)
    named = re.findall(r"(?:^    |`)make ([a-z]+)", (ROOT / name).read_text(), re.M)
    assert set(named) <= set(targets)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_file_that_is_named_exists(name):
    text = (ROOT / name).read_text()
    named = re.findall(r"`((?:[\w-]+/)+(?:[\w-]+\.\w+)?)`|\]\(([\w/.-]+)\)", text)
    missing = [path for pair in named for path in pair if path and not (ROOT / path).exists()]
    assert missing == []


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_command_of_manage_that_is_named_exists(name):
    named = re.findall(r"manage\.py ([a-z_]+)", (ROOT / name).read_text())
    from django.core.management import get_commands

    assert set(named) <= set(get_commands())


def test_the_example_of_the_geometry_does_what_readme_shows():
    spec = re.search(r"echo '(.*?)'", README, re.S)[1].replace("\n", "")
    run = subprocess.run(
        [sys.executable, "-m", "geometry", "unfold"], cwd=ROOT, input=spec, capture_output=True, text=True
    )
    answer = json.loads(run.stdout)
    assert answer["ok"] is True
    assert answer["layers"] == [2]
    assert len(answer["holes"]) == 2
