"""``python -m geometry check``: every problem of each spec, with its place."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from geometry.commands.lines import answer_lines
from geometry.errors import GeometryError
from geometry.folding import State, fold_sheet
from geometry.punching import circle_about, outline_of, pieces_of
from geometry.spec import Punch, Spec, problems, read_spec
from geometry.unfolding import unfold

DESCRIPTION = """Read one spec a line (JSON Lines) from standard input and write one line each: {"ok": true, "problems":
[{"fold": k, "punch": i, "error": "..."}]}, with no problem for a spec that can be folded and punched. Where the spec
cannot be read, everything unreadable is named; where it can, the first fold that paper cannot make (those after it have
no paper to speak of), or else every punch that misses."""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser("check", help="every problem of each spec", description=DESCRIPTION)
    parser.set_defaults(run=run)


def run(_args: argparse.Namespace) -> int:
    return answer_lines(answer, sys.stdin.buffer, sys.stdout.buffer)


def answer(line: bytes) -> dict[str, Any]:
    """The answer to one line."""
    found = [{"fold": p.fold, "punch": p.punch, "error": str(p)} for p in problems_of(line)]
    return {"problems": found}


def problems_of(line: bytes) -> list[GeometryError]:
    """What is wrong with a spec in JSON, in the order of its parts."""
    unreadable = problems(line)
    if unreadable:
        return [*unreadable]
    spec = read_spec(line)
    try:
        paper = fold_sheet(spec.sheet, spec.folds).states[-1]
    except GeometryError as error:
        return [error]
    misses = [miss for i, punch in enumerate(spec.punches) if (miss := _missing(paper, punch, i)) is not None]
    return misses or _too_much(spec)


def _missing(paper: State, punch: Punch, i: int) -> GeometryError | None:
    """The error of a punch that misses the paper."""
    try:
        pieces_of(paper, [outline_of(punch)], [circle_about(punch)])
    except GeometryError as error:
        says = str(error).replace("Punch 1", f"Punch {i + 1}")
        return type(error)(says, punch=i)
    return None


def _too_much(spec: Spec) -> list[GeometryError]:
    """The error of punches that would, all together, leave too much to work out."""
    try:
        unfold(spec)
    except GeometryError as error:
        return [error]
    return []
