"""``python -m geometry options``: specs in, option sets out."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from geometry.around import lot_around
from geometry.commands.lines import answer_lines
from geometry.mistakes import KINDS
from geometry.option_sets import make_options
from geometry.spec import read_spec

DESCRIPTION = """Read one spec a line (JSON Lines) from standard input and write one option set each: the key, five
options with their holes and the mistakes behind them, the difficulty and the fingerprint. The same spec and seed give
the same set. A spec that cannot carry five options gets {"ok": false, "error": "..."}, which says what would help.
With --lot the set is one for tests: five sister questions are found around each spec, and one of them drawn to be
asked; the spec written is the one drawn."""
EXAMPLE = """example:
  echo '{"version":1,"sheet":{"kind":"square"},"folds":[{"bring":[0,0],"to":[1,0]},{"bring":[1,0],"to":[1,1]}],
         "punches":[{"shape":"heart","at":["5/8","7/8"],"size":"1/8"}]}' | tr -d '\\n' | python -m geometry options"""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "options",
        help="five options for each spec",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--seed", type=int, default=0, help="draws the wrong options and the key's place (default 0)")
    parser.add_argument("--mistakes", type=names_of(KINDS), default=(), help="kinds that every set must offer")
    parser.add_argument("--lot", action="store_true", help="draw a sister of each spec by lot, and ask it in its place")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    def answer(line: bytes) -> dict[str, Any]:
        spec = read_spec(line)
        if args.lot:
            return lot_around(spec, args.seed).to_json()
        return make_options(spec, args.seed, kinds=args.mistakes).to_json()

    return answer_lines(answer, sys.stdin.buffer, sys.stdout.buffer)


def names_of(known: Any) -> Any:
    """An argument type: names of a list, parted by commas."""

    def read(text: str) -> tuple[str, ...]:
        names = tuple(name.strip() for name in text.split(",") if name.strip())
        unknown = [name for name in names if name not in known]
        if unknown or not names:
            raise argparse.ArgumentTypeError(f"{', '.join(unknown) or 'nothing'} is none of {', '.join(known)}")
        return names

    return read
