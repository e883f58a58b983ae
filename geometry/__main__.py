"""The command line: ``python -m geometry COMMAND``. Each command is a module of ``geometry.commands``."""

from __future__ import annotations

import argparse
import sys

from geometry.commands import commands


def main(argv: list[str] | None = None) -> int:
    """Run one command. Returns 0 when every line was answered; wrong usage exits with 2 (argparse's own)."""
    parser = argparse.ArgumentParser(prog="python -m geometry", description="Fold, punch and unfold paper, exactly.")
    subparsers = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    words = sys.argv[1:] if argv is None else argv
    for command in commands(words[0] if words else ""):
        command.add_to(subparsers)
    args = parser.parse_args(words)
    return args.run(args)


if __name__ == "__main__":
    sys.exit(main())
