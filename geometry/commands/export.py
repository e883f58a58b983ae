"""``python -m geometry export``: specs in, files for origami programs out."""

from __future__ import annotations

import argparse
import sys
from typing import Any

import orjson

from geometry.commands.lines import lines_of
from geometry.errors import GeometryError
from geometry.fold_format import write_fold
from geometry.folding import fold_sheet
from geometry.spec import read_spec

DESCRIPTION = """Read one spec a line (JSON Lines) from standard input and write each as a FOLD file on its own line:
the crease pattern with mountains and valleys, and the folded form after every fold. FOLD (version 1.2) is the open file
format for origami. A line that cannot be folded gets {"ok": false, "fold": k, "punch": i, "error": "..."}."""
EXAMPLE = """example:
  echo '{"version":1,"sheet":{"kind":"square"},"folds":[{"bring":[0,0],"to":[1,1]}]}' \\
    | python -m geometry export > question.fold"""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "export",
        help="each spec as a FOLD file",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    for line in lines_of(sys.stdin.buffer):
        sys.stdout.buffer.write(orjson.dumps(answer(line), option=orjson.OPT_APPEND_NEWLINE))
    return 0


def answer(line: bytes) -> dict[str, Any]:
    """The FOLD file of one line, or what is wrong with it."""
    try:
        spec = read_spec(line)
        return write_fold(spec, fold_sheet(spec.sheet, spec.folds))
    except GeometryError as error:
        return {"ok": False, "fold": error.fold, "punch": error.punch, "error": str(error)}
