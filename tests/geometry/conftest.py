"""Questions drawn once and looked at by many tests."""

from __future__ import annotations

import pytest

from geometry.generation import generate
from geometry.option_sets import OptionSet


@pytest.fixture(scope="session")
def lots() -> list[OptionSet]:
    """Sets drawn by lot."""
    return [options for _, options in generate(count=150, seed=2024)]


@pytest.fixture(scope="session")
def lessons() -> list[OptionSet]:
    """Teaching sets."""
    return [options for _, options in generate(count=40, seed=7, sets="teaching")]
