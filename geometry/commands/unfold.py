"""``python -m geometry unfold``: specs in, holes out."""

from __future__ import annotations

import argparse
import sys
from typing import Any

import numpy as np

from geometry.commands.lines import answer_lines
from geometry.faces import State
from geometry.joining import polygons_in, rings_of
from geometry.spec import read_spec
from geometry.unfolding import Hole, Unfolding
from geometry.unfolding import unfold as work_out

DESCRIPTION = """Read one spec a line (JSON Lines) from standard input and write one line each: the layers under every
punch, the punches' outlines, the folded outline and the holes of the sheet unfolded. A line that cannot be answered
gets {"ok": false, "fold": k, "punch": i, "error": "..."}, and the stream goes on."""
EXAMPLE = """example:
  echo '{"version":1,"sheet":{"kind":"square"},"folds":[{"bring":[0,0],"to":[1,1]}],
         "punches":[{"shape":"disc","at":["1/2","3/4"]}]}' | tr -d '\\n' | python -m geometry unfold"""


def add_to(subparsers: Any) -> None:
    parser = subparsers.add_parser(
        "unfold",
        help="the holes of each spec",
        description=DESCRIPTION,
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--steps", action="store_true", help="add the faces and the holes of every state")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    return answer_lines(lambda line: answer(line, steps=args.steps), sys.stdin.buffer, sys.stdout.buffer)


def answer(line: bytes, *, steps: bool = False) -> dict[str, Any]:
    """The answer to one line. Raises ``GeometryError``."""
    unfolding = work_out(read_spec(line))
    out = {
        "layers": unfolding.layers,
        "punches": list(unfolding.outlines),
        "folded": write_silhouette(unfolding.folded.states[-1]),
        "holes": [write_hole(hole) for hole in unfolding.holes()],
    }
    return out | {"states": [write_state(unfolding, k) for k in range(len(unfolding.folded.states))]} if steps else out


def write_silhouette(state: State) -> list[np.ndarray]:
    """Every ring of the folded outline: outer ones anticlockwise, inner ones clockwise, not closed."""
    return state.rims or [ring for polygon in polygons_in(state.outline) for ring in rings_of(polygon)]


def write_hole(hole: Hole) -> dict[str, Any]:
    """A hole as JSON; ``inner`` holds the rings of paper left inside it, where there are any."""
    outer, *inner = map(np.ascontiguousarray, hole.rings)
    return {"punch": hole.punch, "outline": outer} | ({"inner": inner} if inner else {}) | {"folds": hole.folds}


def write_state(unfolding: Unfolding, folds: int) -> dict[str, Any]:
    """A state as JSON: its faces from bottom to top, flat and where they lie, and the holes seen."""
    faces = [
        {"flat": face.outline_xy, "folded": face.folded_xy, "turned": face.turned}
        for face in unfolding.folded.states[folds].faces
    ]
    return {"faces": faces, "holes": [write_hole(hole) for hole in unfolding.holes(folds)]}
