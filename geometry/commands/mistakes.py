"""``python -m geometry mistakes``: what each kind of mistake is, with a picture of it."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Any

from geometry.mistakes import KINDS
from geometry.pictures.mistakes import draw_mistake, example_of

DESCRIPTION = """Write an example picture of every kind of mistake into a folder, and a page that lists them all:
what is done wrong, what it needs in order to be seen, and what the pupil is told."""
EXAMPLE = """example:
  python -m geometry mistakes --pictures static/mistakes --page geometry/MISTAKES.md"""
HEAD = """# The kinds of mistake

What wrong options stand for. One opening goes wrong; all later ones are done right on the wrong result. Each picture
shows the punched paper, the sheet rightly opened, and the sheet as the mistake leaves it, with its first fault ringed.
Written by `python -m geometry mistakes`; the definitions stand in `geometry/mistakes/`.
"""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "mistakes",
        help="each kind of mistake, with a picture",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--pictures", type=Path, required=True, help="the folder to write the pictures into")
    parser.add_argument("--page", type=Path, required=True, help="the page to write")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    args.pictures.mkdir(parents=True, exist_ok=True)
    for kind in KINDS:
        (args.pictures / f"{kind}.svg").write_text(draw_mistake(kind).svg + "\n")
    args.page.write_text(page(os.path.relpath(args.pictures, args.page.parent)))
    return 0


def page(pictures: str) -> str:
    """The page in Markdown, its pictures in a folder, named as it stands to the page's own."""
    return HEAD + "".join(_entry(kind, pictures) for kind in KINDS)


def _entry(name: str, pictures: str) -> str:
    kind = KINDS[name]
    (mistake,) = example_of(name)[1].mistakes
    return f"""
## {kind.label}

`{name}`: {kind.definition} Seen with {kind.needs}.

![{kind.label}]({pictures}/{name}.svg)

The pupil reads: “{mistake.says}”
"""
