"""What a page shows of the questions of a batch: pictures, key, level, mistakes, and what speaks against one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bank.models import Batch, Candidate
from bank.repeats import Asked, Repeats, repeats_of
from geometry.mistakes import KINDS


@dataclass(frozen=True)
class Svg:
    svg: str


@dataclass(frozen=True)
class ShownOption:
    letter: str
    picture: Svg
    is_key: bool
    mistakes: tuple[str, ...]  # their names for teachers
    says: str


@dataclass(frozen=True)
class Shown:
    """One candidate. ``number`` counts in the order shown; ``against`` are sentences about checks."""

    number: int
    candidate: Candidate
    stem: tuple[Svg, ...]
    options: tuple[ShownOption, ...]
    folds: int
    punches: int
    against: tuple[str, ...]
    repeats: Repeats


def show(batch: Batch, candidates: Iterable[Candidate], first: int = 1) -> list[Shown]:
    """Return the candidates as a page shows them, counted from ``first``; one query, for repeats of the bank's."""
    candidates = list(candidates)
    asked = [Asked.of_content(candidate.content) for candidate in candidates]
    besides = [batch.origin_id, *(candidate.question_id for candidate in candidates)]
    repeats = repeats_of(batch.school_id, asked, besides)
    return [_show(number, *pair) for number, pair in enumerate(zip(candidates, repeats, strict=True), first)]


def _show(number: int, candidate: Candidate, repeats: Repeats) -> Shown:
    content = candidate.content
    against = [check["says"] for check in content["checks"] if not check["ok"]]
    pictures = candidate.pictures
    return Shown(
        number=number,
        candidate=candidate,
        stem=tuple(Svg(svg) for svg in pictures["stem"]),
        options=tuple(
            _option(*pair, content) for pair in zip(content["options"]["options"], pictures["options"], strict=True)
        ),
        folds=content["folds"],
        punches=content["punches"],
        against=tuple(against),
        repeats=repeats,
    )


def _option(option: dict, svg: str, content: dict) -> ShownOption:
    kinds = dict.fromkeys(mistake["kind"] for mistake in option["mistakes"])
    return ShownOption(
        letter=option["label"],
        picture=Svg(svg),
        is_key=option["label"] == content["options"]["key"],
        mistakes=tuple(KINDS[kind].label for kind in kinds),
        says=" ".join(mistake["says"] for mistake in option["mistakes"]),
    )
