"""Files of questions for tests: an honest one, and ways to spoil it."""

from __future__ import annotations

import json
from copy import deepcopy
from functools import cache
from typing import Any

from tests.bank.factories import DIAGONAL, HALVES, options_of


@cache
def _entries() -> str:
    return json.dumps([entry_of(HALVES), entry_of(DIAGONAL)])


def entries() -> list[dict[str, Any]]:
    """Two honest questions, fresh to be spoilt."""
    return json.loads(_entries())


def entry_of(spec: dict[str, Any], **others: Any) -> dict[str, Any]:
    """A question as a file has it."""
    option_set = options_of(spec).to_json()
    options = [{name: o[name] for name in ("label", "holes", "mistakes")} for o in option_set["options"]]
    return {"spec": deepcopy(spec), "key": option_set["key"], "options": options, "tags": ["brought"]} | others


def file_of(*questions: Any, **others: Any) -> bytes:
    whole = {"format": "creasemark-questions", "version": 1, "questions": list(questions)} | others
    return json.dumps(whole).encode()
