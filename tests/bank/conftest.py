from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def empty_storage(settings, tmp_path: Path) -> None:
    """Files of one test are not there for the next."""
    settings.MEDIA_ROOT = tmp_path
