"""The rooms of the house point one way; the contracts stand in pyproject.toml."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("accounts", "bank", "assignments")
# What a module of one kind may not import from its own app. (Models take their querysets from queries.)
UPWARDS = {
    "models": {"services", "forms", "views", "urls", "tasks"},
    "queries": {"services", "forms", "views", "urls", "tasks"},
    "services": {"forms", "views", "urls"},
    "forms": {"views", "urls", "tasks"},
    "tasks": {"forms", "views", "urls"},
}


def test_rooms_import_one_way():
    code = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout
    assert "0 broken" in run.stdout


def imports_of(path: Path) -> set[str]:
    """Full names of the modules that a file imports, inside functions too."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return names


def kind_of(path: Path, app: str) -> str:
    """``services`` for both ``bank/services.py`` and ``bank/services/questions.py``."""
    return path.relative_to(ROOT / app).parts[0].removesuffix(".py")


@pytest.mark.parametrize("app", APPS)
def test_inside_an_app_leaves_are_imported_by_nobody_below(app):
    breaches = [
        f"{path.relative_to(ROOT)} imports {name}"
        for path in sorted((ROOT / app).rglob("*.py"))
        for above in UPWARDS.get(kind_of(path, app), ())
        for name in imports_of(path)
        if name == f"{app}.{above}" or name.startswith(f"{app}.{above}.")
    ]
    assert breaches == []


@pytest.mark.parametrize("app", APPS)
def test_only_urls_import_views(app):
    importers = {
        str(path.relative_to(ROOT))
        for room in (*APPS, "config")
        for path in (ROOT / room).rglob("*.py")
        if any(name.startswith(f"{app}.views") for name in imports_of(path))
    }
    assert {name for name in importers if not name.startswith(f"{app}/views")} <= {f"{app}/urls.py"}


def test_no_module_is_longer_than_can_be_read_in_a_sitting():
    tracked = subprocess.run(["git", "ls-files", "*.py"], cwd=ROOT, capture_output=True, text=True, check=True)
    lengths = {name: len((ROOT / name).read_text().splitlines()) for name in tracked.stdout.split()}
    assert {name: length for name, length in lengths.items() if length > 400} == {}
