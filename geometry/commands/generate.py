"""``python -m geometry generate``: fresh questions, each with its option set."""

from __future__ import annotations

import argparse
import sys
from typing import Any, BinaryIO

import orjson
from tqdm import tqdm

from geometry.commands.options import names_of
from geometry.creasing import CREASES
from geometry.errors import GeometryError
from geometry.generation import LOT, SETS, generate
from geometry.mistakes import KINDS
from geometry.shapes import SHAPES

DESCRIPTION = """Write whole questions (JSON Lines): spec, options, key, difficulty and fingerprint, no two the same
question. The same seed gives the same bytes. When nothing new can be found, standard error says what ran out, and the
exit status is 1."""
EXAMPLE = """examples:
  python -m geometry generate --count 20 --seed 7
  python -m geometry generate --count 5 --seed 1 --folds 2 --creases straight --shapes heart,arrow --difficulty 1-2
  python -m geometry generate --count 10 --seed 3 --sets teaching --mistakes slid"""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "generate",
        help="fresh questions by the thousand",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    add = parser.add_argument
    add("--count", type=number_from(1), required=True, metavar="N", help="how many questions")
    add("--seed", type=int, default=0, help="the same seed gives the same questions (default 0)")
    add("--folds", type=span(1, 6), default=(2, 3), metavar="A-B", help="how many folds (default 2-3)")
    add("--punches", type=span(1, 4), default=(1, 2), metavar="A-B", help="how many punches (default 1-2)")
    add("--difficulty", type=span(1, 5), default=(1, 5), metavar="A-B", help="levels, 1 easy to 5 hard")
    add("--creases", type=names_of(CREASES), default=CREASES, help=f"any of {','.join(CREASES)}")
    add("--shapes", type=names_of(SHAPES), default=tuple(SHAPES), help=f"any of {','.join(SHAPES)}")
    add("--flaps", action="store_true", help="folds may take some layers only")
    add("--mistakes", type=names_of(KINDS), default=(), help="kinds that every set must offer")
    add("--sets", choices=SETS, default=LOT, help="lot: for tests; teaching: any mistakes, for practice")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    wishes = {name: value for name, value in vars(args).items() if name not in ("command", "run", "count", "seed")}
    return write(args.count, args.seed, wishes, sys.stdout.buffer)


def write(count: int, seed: int, wishes: dict[str, Any], target: BinaryIO) -> int:
    """Write the questions. Returns 0 when all were made, else 1, having said why."""
    questions = generate(count=count, seed=seed, **wishes)
    try:
        for _, options in tqdm(questions, total=count, unit=" questions", disable=not sys.stderr.isatty()):
            target.write(orjson.dumps({"ok": True} | options.to_json(), option=orjson.OPT_APPEND_NEWLINE))
    except GeometryError as error:
        sys.stderr.write(f"{error}\n")
        return 1
    finally:
        target.flush()
    return 0


def span(least: int, most: int) -> Any:
    """An argument type: "2-3", or "2" for 2-2, within bounds."""

    def read(text: str) -> tuple[int, int]:
        low, _, high = text.partition("-")
        try:
            found = (int(low), int(high or low))
        except ValueError:
            raise argparse.ArgumentTypeError(f"“{text}” is no number or span of numbers like 2-3") from None
        if not least <= found[0] <= found[1] <= most:
            raise argparse.ArgumentTypeError(f"“{text}” must lie within {least}-{most}, the smaller number first")
        return found

    return read


def number_from(least: int) -> Any:
    """An argument type: a whole number, ``least`` or more."""

    def read(text: str) -> int:
        if not text.isdecimal() or int(text) < least:
            raise argparse.ArgumentTypeError(f"“{text}” is no whole number from {least} up")
        return int(text)

    return read
