"""``python -m geometry variants``: parallel questions for each question."""

from __future__ import annotations

import argparse
import sys
from typing import Any

import orjson

from geometry.commands.generate import number_from
from geometry.commands.lines import lines_of
from geometry.errors import GeometryError
from geometry.option_sets import OptionSet
from geometry.spec import Spec, read_spec
from geometry.variants import variants

DESCRIPTION = """Read one question a line (JSON Lines) from standard input: a spec, or what generate and options write.
For each, write whole questions of the same structure and level: turned or mirrored, punched elsewhere, in shapes of
like symmetry, each with its own options; "of" is the line it varies. The same seed gives the same bytes. When fewer
are found than asked for, standard error says so, and the exit status is 1."""
EXAMPLE = """example:
  python -m geometry generate --count 2 --seed 7 | python -m geometry variants --count 3 --seed 1"""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "variants",
        help="parallel questions for each question",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--count", type=number_from(1), default=1, metavar="N", help="how many for each (default 1)")
    parser.add_argument("--seed", type=int, default=0, help="the same seed gives the same variants (default 0)")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    status = 0
    for number, line in enumerate(lines_of(sys.stdin.buffer), 1):
        try:
            found = variants(_question(line), args.count, args.seed)
        except GeometryError as error:
            out: dict[str, Any] = {"ok": False, "of": number, "error": str(error)}
            sys.stdout.buffer.write(orjson.dumps(out, option=orjson.OPT_APPEND_NEWLINE))
            continue
        for _, options in found:
            out = {"ok": True, "of": number} | options.to_json()
            sys.stdout.buffer.write(orjson.dumps(out, option=orjson.OPT_APPEND_NEWLINE))
        if len(found) < args.count:
            sys.stderr.write(f"Line {number}: {len(found)} of {args.count} were found, and no more.\n")
            status = 1
    sys.stdout.buffer.flush()
    return status


def _question(line: bytes) -> Spec | OptionSet:
    """A spec, or a whole question where the line holds options."""
    try:
        data = orjson.loads(line)
        if isinstance(data, dict) and "options" in data:
            return OptionSet.from_json(data)
    except (orjson.JSONDecodeError, KeyError, TypeError, IndexError, ValueError):
        pass  # no whole question: reading it as a spec says what is wrong with it
    return read_spec(line)
