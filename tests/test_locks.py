"""What a site installs (``requirements.lock``) is enough for its processes: the tests' own packages hide a lack."""

from __future__ import annotations

import re
import subprocess
import sys
from importlib.metadata import packages_distributions
from pathlib import Path

from tests.sites import ROOT, environment_of

PROCESSES = """
import sys

sys.modules.update(dict.fromkeys(sys.argv[1:]))  # as if they were not installed: to import them fails
import config.wsgi, config.urls
from celery.apps.beat import Beat
from config.celery import app

app.loader.import_default_modules()
app.Worker(hostname="drill@here"), Beat(app=app), app.backend, app.connection().transport
"""


def normal(name: str) -> str:
    """PEP 503: names of packages that are the same."""
    return re.sub(r"[-_.]+", "-", name).lower()


def test_the_web_process_the_worker_and_the_clock_load_with_the_locked_packages_alone(tmp_path: Path) -> None:
    locked = {normal(name) for name in re.findall(r"^([\w.-]+)==", (ROOT / "requirements.lock").read_text(), re.M)}
    owners = packages_distributions()
    others = [module for module, own in owners.items() if not {normal(name) for name in own} & locked]
    assert "pytest" in others
    environment = environment_of(f"sqlite:///{tmp_path}/site.sqlite3", tmp_path, REDIS_URL="redis://127.0.0.1:6379/9")
    command = [sys.executable, "-c", PROCESSES, *others]
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
