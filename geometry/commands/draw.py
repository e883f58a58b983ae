"""``python -m geometry draw``: a spec in, a picture out; or many specs in, one contact sheet out."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import Any

import orjson
import shapely

from geometry.commands.lines import lines_of
from geometry.errors import GeometryError
from geometry.option_sets import make_options
from geometry.pictures import SIZES, THEMES, Picture, draw_option, draw_stem, draw_steps
from geometry.pictures.bitmap import bitmap
from geometry.pictures.contact_sheet import lay_out
from geometry.spec import Sheet, read_spec
from geometry.unfolding import unfold

DESCRIPTION = """Read a spec (one line of JSON; also a line written by "options" or "generate") from standard input and
write its picture to standard output. With --sheet every line is a row of one contact sheet."""
EXAMPLE = """examples:
  python -m geometry draw --what stem --format png < spec.json > stem.png
  python -m geometry generate --count 30 --seed 1 | python -m geometry draw --sheet --size small > sheet.svg"""
WHAT = ("stem", "option", "steps", "key")


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "draw",
        help="the pictures of a spec",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--what", choices=WHAT, default="stem", help="which pictures (default: stem)")
    parser.add_argument("--format", choices=("svg", "png"), default="svg")
    parser.add_argument("--theme", choices=tuple(THEMES), default="screen")
    parser.add_argument("--size", choices=tuple(SIZES), default="normal", help="pixels and line weights to draw for")
    parser.add_argument("--scale", type=_scale, default=1.0, help="enlarge a PNG (0.1 to 20)")
    parser.add_argument("--seed", type=int, default=0, help="for the options of a line that brings none (default: 0)")
    parser.add_argument("--sheet", action="store_true", help="a contact sheet: stem, options or key of every line")
    parser.set_defaults(run=run)


def _scale(text: str) -> float:
    value = float(text)
    if not 0.1 <= value <= 20:
        raise argparse.ArgumentTypeError("must lie between 0.1 and 20")
    return value


def run(args: argparse.Namespace) -> int:
    """Draw. Returns 1 when a line could not be drawn: it is named on standard error and left out."""
    rows: list[Sequence[Picture]] = []
    failed = False
    for number, line in enumerate(lines_of(sys.stdin.buffer), 1):
        if not line:
            continue
        try:
            rows.append(_row(line, args))
        except GeometryError as error:
            failed = True
            sys.stderr.write(f"line {number}: {error}\n")
        if not args.sheet:
            break
    if not rows:
        if not failed:
            sys.stderr.write("There is no spec on standard input.\n")
        return 1
    _write(rows[0][0] if len(rows) == len(rows[0]) == 1 else _laid_out(rows, args), args)
    return int(failed)


def _laid_out(rows: list[Sequence[Picture]], args: argparse.Namespace) -> Picture:
    title = f"{len(rows)} questions" if args.sheet else args.what.capitalize()
    return lay_out(rows, title, numbered=args.sheet, ground=THEMES[args.theme].front)


def _row(line: bytes, args: argparse.Namespace) -> Sequence[Picture]:
    if not args.sheet:
        return _pictures(line, args.what, args)
    given = "option" if b'"options"' in line else "key"
    return (*_pictures(line, "stem", args), *_pictures(line, given, args))


def _pictures(line: bytes, what: str, args: argparse.Namespace) -> Sequence[Picture]:
    given = _question(line)
    unfolding = unfold(read_spec(given.get("spec", line)))
    sheet = unfolding.spec.sheet
    look: dict[str, str] = {"theme": args.theme, "size": args.size}
    if what == "stem":
        return draw_stem(unfolding, **look)
    if what == "steps":
        return draw_steps(unfolding, **look)
    if what == "key":
        regions = [hole.region for hole in unfolding.holes()]
        return (draw_option(sheet, regions, title="The sheet unfolded", **look),)
    if "options" not in given:
        options = make_options(unfolding.spec, seed=args.seed).options
        return [draw_option(sheet, o.holes, title=f"Option {o.label}", **look) for o in options]
    try:
        return [_option(sheet, option, look) for option in given["options"]]
    except (KeyError, TypeError, ValueError):
        raise GeometryError("The line's options cannot be read.") from None


def _option(sheet: Sheet, option: dict[str, Any], look: dict[str, str]) -> Picture:
    holes = [shapely.Polygon(hole["outline"], hole.get("inner", ())) for hole in option["holes"]]
    return draw_option(sheet, holes, title=f"Option {option['label']}", **look)


def _question(line: bytes) -> dict[str, Any]:
    """The line's object if it wraps a spec, else nothing: reading the spec then says what is wrong with it."""
    try:
        given = orjson.loads(line)
    except ValueError:
        return {}
    return given if isinstance(given, dict) and "spec" in given else {}


def _write(picture: Picture, args: argparse.Namespace) -> None:
    data = picture.svg.encode()
    if args.format == "png":
        data = bitmap(picture.svg, scale=args.scale)
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()
