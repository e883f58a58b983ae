"""What the tests of sittings share: a clock they can set."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import datetime

import pytest

import assignments.urls  # noqa: F401  (so that every page is there to be set)
from assignments.services import at_once

Clock = Callable[[datetime], None]


@pytest.fixture
def set_clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[Clock]:
    """``set_clock(moment)``: what every page of assignments takes for the database's time from now on."""

    def set_to(moment: datetime) -> None:
        for name, module in list(sys.modules.items()):
            if name.startswith("assignments.views.") and hasattr(module, "database_now"):
                monkeypatch.setattr(module, "database_now", lambda: moment)
        told = moment.strftime("'%Y-%m-%d %H:%M:%S.%f'")
        monkeypatch.setitem(at_once.WORDS["postgresql"], "now", f"TIMESTAMPTZ {told[:-1]}+00'")
        monkeypatch.setitem(at_once.WORDS["sqlite"], "now", told)
        at_once._statement.cache_clear()

    yield set_to
    at_once._statement.cache_clear()
