"""What must not stand in the source, and what must stand in the lock: looked for in the text itself."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import get_resolver

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("accounts", "assignments", "bank", "config", "geometry")
SOURCES = [path for room in ROOMS for path in (ROOT / room).rglob("*.py")]
# Our own drawings, made of numbers, are written into pages as they are; nothing that anybody typed is.
MARKUP = {"bank/templatetags/drawing.py"}
FORBIDDEN = {"eval", "exec", "extra", "raw", "RawSQL", "mark_safe", "format_html_join", "Popen", "system"}


def called(path: Path) -> set[str]:
    """The names of what is called in a source file."""
    calls = [node.func for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call)]
    of_modules = {node.attr for node in calls if isinstance(node, ast.Attribute) and not _is_pattern(node)}
    return of_modules | {node.id for node in calls if isinstance(node, ast.Name)}


def _is_pattern(node: ast.Attribute) -> bool:
    return isinstance(node.value, ast.Name) and node.value.id == "re"


@pytest.mark.parametrize("room", ROOMS)
def test_no_source_makes_code_markup_or_a_command_of_what_was_typed(room):
    found = {
        str(path.relative_to(ROOT)): called(path) & FORBIDDEN for path in SOURCES if path.parts[len(ROOT.parts)] == room
    }
    assert {path: names for path, names in found.items() if names and path not in MARKUP} == {}


def test_no_template_leaves_out_escaping():
    words = re.compile(r"\|\s*safe\b|\|\s*safeseq\b|autoescape off")
    assert [path.name for path in (ROOT / "templates").rglob("*.html") if words.search(path.read_text())] == []


def test_every_address_that_a_template_names_is_there():
    """Django finds out only when that part of a page is shown."""
    named = re.compile(r"{%\s*url\s+['\"]([\w:]+)['\"]")
    there = {
        f"{app}:{name}" for app, (_, inner) in get_resolver().namespace_dict.items() for name in inner.reverse_dict
    }
    there |= set(get_resolver().reverse_dict)
    found = {name for path in (ROOT / "templates").rglob("*.html") for name in named.findall(path.read_text())}
    assert len(found) > 50
    assert found - there == set()


def test_statements_written_out_bind_what_they_are_given():
    """``cursor.execute`` gets a constant, never text put together on the spot."""
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "execute" and node.args:
                assert not isinstance(node.args[0], ast.JoinedStr | ast.BinOp), path


def test_tasks_are_json_alone():
    assert settings.CELERY_ACCEPT_CONTENT == ["json"]
    assert settings.CELERY_TASK_SERIALIZER == settings.CELERY_RESULT_SERIALIZER == "json"
    assert not [path for path in SOURCES if re.search(r"\b(pickle|marshal|shelve)\b", path.read_text())]


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-dev.lock"])
def test_every_dependency_is_pinned_by_its_digest(lock):
    text = (ROOT / lock).read_text()
    entries = re.findall(r"^([a-z0-9][\w.\[\]-]*)==\S+ \\\n((?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)", text, re.M)
    assert len(entries) == len(re.findall(r"^\S+==", text, re.M)) > 20


def test_what_runs_here_is_what_is_locked():
    """The site's own dependencies, as installed, in the versions of the lock."""
    from importlib.metadata import version

    locked = re.findall(r"^([a-z0-9][\w.-]*)(?:\[[\w,]+\])?==(\S+) ", (ROOT / "requirements.lock").read_text(), re.M)
    differing = {name: (pinned, version(name)) for name, pinned in locked if version(name) != pinned}
    assert differing == {}


def test_every_test_that_the_table_of_security_names_is_there():
    named = re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", (ROOT / "config" / "SECURITY.md").read_text())
    assert len(named) > 30
    missing = [f"{path}::{test}" for path, test in named if f"def {test or 'test_'}" not in (ROOT / path).read_text()]
    assert [name for name in missing if "attack.py" not in name] == []


def test_the_audit_of_dependencies_says_so_when_it_could_ask_nobody():
    """With the network away it ends well: what cannot be asked must not stop a change."""
    away = {"PATH": "/usr/bin:/bin", "HTTPS_PROXY": "http://127.0.0.1:9"}
    done = subprocess.run(
        [sys.executable, "-m", "tests.audit"], cwd=ROOT, env=away, capture_output=True, text=True, timeout=60
    )
    assert (done.returncode, "could not be asked" in done.stdout) == (0, True)
