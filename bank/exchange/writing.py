"""Write questions as a file for another school: what is asked, and nothing of who made it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import orjson

from bank.exchange import FORMAT, VERSION
from bank.models import Question


def write_file(questions: Iterable[Question], *, notes: bool = False) -> bytes:
    """Return the file of ``questions`` with their current versions and tags loaded.

    Notes are left out unless asked for: they are words of somebody, and may name a person.
    """
    entries = [question_json(question, notes=notes) for question in questions]
    return orjson.dumps({"format": FORMAT, "version": VERSION, "questions": entries})


def question_json(question: Question, *, notes: bool = False) -> dict[str, Any]:
    """Return one question as it stands in the file."""
    version = question.current
    assert version is not None, "every saved question has a version"
    options = [{name: option[name] for name in ("label", "holes", "mistakes")} for option in version.options["options"]]
    return {
        "number": question.number,
        "spec": version.spec,
        "key": version.key,
        "options": options,
        "level": version.level,
        "fingerprint": version.fingerprint,
        "state": question.state,
        "tags": [tag.name for tag in question.tags.all()],
    } | ({"note": question.note} if notes and question.note else {})
