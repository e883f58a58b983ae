"""Questions for tests, saved as a teacher's would be, with real options made by the geometry."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from django.utils import timezone

from accounts.models import School, User
from bank.asking import Ask
from bank.drafting import draw_pictures_of
from bank.drawing import draw_pictures, picture_name
from bank.models import Batch, Picture, Question, State
from bank.services.questions import content_of, save_question
from geometry.option_sets import OptionSet, make_options
from geometry.spec import read_spec

HALVES = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [
        {"crease": [["1/2", "0"], ["1/2", "1"]], "moves": ["0", "1/2"], "way": "over", "layers": "all"},
        {"crease": [["1/2", "1/2"], ["1", "1/2"]], "moves": ["3/4", "0"], "way": "over", "layers": "all"},
    ],
    "punches": [{"shape": "triangle", "at": ["13/16", "11/16"], "size": "1/6", "turn": 0}],
}
DIAGONAL = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [
        {"bring": ["1", "0"], "to": ["0", "1"], "way": "over", "layers": "all"},
        {"bring": ["0", "0"], "to": ["1", "1"], "way": "over", "layers": "all"},
        {"bring": ["0", "1"], "to": ["1/2", "1"], "way": "behind", "layers": "all"},
    ],
    "punches": [{"shape": "drop", "at": ["5/8", "7/8"], "size": "1/9", "turn": 0}],
}
# Two punches that almost touch: options can be made, but a check fails.
CROWDED = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"bring": ["0", "0"], "to": ["1", "1"], "way": "over", "layers": "all"}],
    "punches": [
        {"shape": "heart", "at": ["3/4", "4/5"], "size": "1/6", "turn": 0},
        {"shape": "disc", "at": ["5/8", "7/8"], "size": "1/10", "turn": 0},
    ],
}


@cache
def _options(name: str, seed: int) -> OptionSet:
    return make_options(read_spec(globals()[name]), seed=seed)


def options_of(spec: dict[str, Any], seed: int = 1) -> OptionSet:
    """The options of one of the specs above, made once for all tests."""
    name = next(name for name in ("HALVES", "DIAGONAL", "CROWDED") if globals()[name] is spec)
    return _options(name, seed)


def make_question(
    school: School,
    author: User | None = None,
    *,
    spec: dict[str, Any] = HALVES,
    seed: int = 1,
    tags: Iterable[str] = (),
    state: str = State.DRAFT,
    **others: Any,
) -> Question:
    return save_question(
        school=school,
        author=author,
        spec=read_spec(spec),
        option_set=options_of(spec, seed),
        tags=tags,
        state=state,
        **others,
    )


def make_batch(by: User, option_set: OptionSet | None = None) -> Batch:
    """A batch that has ended, of one candidate."""
    made = option_set or options_of(HALVES)
    now = timezone.now()
    ask = Ask(count=1, seed=1).to_json()
    facts = {"asked_at": now, "moved_at": now, "ended_at": now, "wanted": 1, "place": 2}
    batch = Batch.objects.create(school=by.school, asked_by=by, ask=ask, **facts)
    batch.candidates.create(
        place=1,
        content=content_of(made.spec, made),
        pictures=draw_pictures_of(made),
        level=made.difficulty.level,
        facility=made.difficulty.facility,
        fingerprint=made.fingerprint,
        kinds=[],
    )
    return batch


def keep_drawings(question: Question) -> None:
    """Store the pictures of a question without their bitmaps, which take longer to make."""
    version = question.current
    assert version is not None
    known = (version.fingerprint, version.key)
    if known not in _DRAWN:
        _DRAWN[known] = draw_pictures(version)
    facts = ("kind", "place", "title", "description", "svg")
    rows = [Picture(version=version, **{fact: getattr(picture, fact) for fact in facts}) for picture in _DRAWN[known]]
    for row in rows:
        row.name = picture_name(version.pk, row.kind, row.place, row.svg)
    Picture.objects.bulk_create(rows)


_DRAWN: dict[tuple[str, str], list[Picture]] = {}  # each question's pictures are drawn once for all tests


def typed_halves(**changes: str) -> dict[str, str]:
    """What the workbench posts for a square folded in half twice and punched once."""
    typed = {"folds": "2", "punches": "1", "sheet-kind": "square", "sheet-width": "1", "sheet-height": "1"}
    for number, place in enumerate(("left", "bottom")):
        fold = {"how": "tray", "place": place, "depth": "1/2", "way": "over", "layers": "all"}
        typed |= {f"fold-{number}-{name}": value for name, value in fold.items()}
    punch = {"shape": "triangle", "at": "13/16, 11/16", "size": "1/6", "turn": "0"}
    typed |= {f"punch-0-{name}": value for name, value in punch.items()}
    return typed | {name.replace("__", "-"): value for name, value in changes.items()}
