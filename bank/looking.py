"""What a page shows of the questions of a batch: pictures, key, level, mistakes, and what speaks against one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bank.models import Batch, Candidate, Question
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
    """One candidate. ``number`` counts in the order shown; ``against`` are sentences about checks and repeats."""

    number: int
    candidate: Candidate
    stem: tuple[Svg, ...]
    options: tuple[ShownOption, ...]
    folds: int
    punches: int
    against: tuple[str, ...]


def show(batch: Batch, candidates: Iterable[Candidate], first: int = 1) -> list[Shown]:
    """Return the candidates as a page shows them, counted from ``first``; one query, for repeats of the bank's."""
    candidates = list(candidates)
    known = Question.objects.filter(
        school=batch.school_id, current__fingerprint__in=[candidate.fingerprint for candidate in candidates]
    ).exclude(pk=batch.origin_id or 0)
    repeats = dict(known.order_by("-number").values_list("current__fingerprint", "number"))
    return [_show(number, one, repeats.get(one.fingerprint)) for number, one in enumerate(candidates, first)]


def _show(number: int, candidate: Candidate, repeats: int | None) -> Shown:
    content = candidate.content
    against = [check["says"] for check in content["checks"] if not check["ok"]]
    if repeats is not None and candidate.question_id is None:
        against.append(f"The bank has this question already: number {repeats}.")
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
