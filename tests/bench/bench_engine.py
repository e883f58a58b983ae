"""How long the engine takes, as a ratio to a floor measured in the same run. By hand:

    python -m tests.bench.bench_engine

The floor is numpy's product and sum that carry two punches of 32 vertices to all faces when every motion is already
known: nothing is folded, cut, checked or joined. (A product alone takes half the time, but wants points that come with
a column of ones.) Times are CPU time, the median of rounds taken in turn. The specs are random: a square, folded 3, 4
or 5 times along lines of eight directions, to 8, 16 or 28 faces; two discs apart from each other, first clear of every
edge (as in most questions), then anywhere on the paper.
"""

from __future__ import annotations

import io
import json
import time
from collections.abc import Callable, Sequence
from fractions import Fraction as F
from itertools import product
from math import hypot
from random import Random
from statistics import median
from typing import Any

import numpy as np

from geometry.commands.lines import answer_lines
from geometry.commands.unfold import answer
from geometry.errors import GeometryError
from geometry.folding import Face
from geometry.spec import Spec, read_spec
from geometry.unfolding import unfold

DIRECTIONS = [(1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (1, 2), (-2, 1), (-1, 2)]
FACES = {3: 8, 4: 16, 5: 28}
GOALS = {3: 30, 4: 65, 5: 110}
SPECS = 24
SIZE = F(1, 16)
ROUNDS = 7


def random_specs(folds: int, rng: Random, *, clear: bool) -> list[dict[str, Any]]:
    """Specs whose paper has exactly the number of faces that belongs to so many folds."""
    found: list[dict[str, Any]] = []
    while len(found) < SPECS:
        spec = {"version": 1, "sheet": {"kind": "square"}, "folds": [_fold(rng) for _ in range(folds)], "punches": []}
        try:
            faces = unfold(read_spec(spec)).folded.states[-1].faces
        except GeometryError:
            continue
        if len(faces) == FACES[folds] and (punches := _punches(rng, spec, faces, clear=clear)):
            found.append(spec | {"punches": punches})
    return found


def _punches(rng: Random, spec: dict[str, Any], faces: Sequence[Face], *, clear: bool) -> list[dict[str, Any]] | None:
    """Two discs that do not touch, if some tries find them; when ``clear``, such that no edge of paper cuts them."""
    for _ in range(30):
        places = [_inside(rng.choice(faces).folded_xy, rng) for _ in range(2)]
        punches = [{"shape": "disc", "at": at, "size": str(SIZE)} for at in places]
        (ax, ay), (bx, by) = ((float(F(c)) for c in at) for at in places)
        if hypot(ax - bx, ay - by) > SIZE:
            pieces = unfold(read_spec(spec | {"punches": punches})).pieces
            if not clear or all(piece.whole for piece in pieces):
                return punches
    return None


def _fold(rng: Random) -> dict[str, Any]:
    x, y = (F(rng.randint(8, 40), 48) for _ in range(2))
    dx, dy = rng.choice(DIRECTIONS)
    side = rng.choice([-1, 1])
    points = [(x, y), (x + dx, y + dy), (x - side * dy, y + side * dx)]
    a, b, grip = [[str(c) for c in p] for p in points]
    return {"crease": [a, b], "moves": grip, "way": rng.choice(["over", "behind"])}


def _inside(polygon: np.ndarray, rng: Random) -> list[str]:
    """A point of a convex polygon, with four decimals."""
    weights = [rng.random() for _ in polygon]
    return [str(F(round(10_000 * float(c)), 10_000)) for c in np.average(polygon, axis=0, weights=weights)]


def floor_of(spec: Spec) -> Callable[[], Any]:
    """The punches' 64 vertices carried by all the faces' motions, known beforehand."""
    unfolding = unfold(spec)
    rows = np.stack([(~face.motion).matrix() for face in unfolding.folded.states[-1].faces])
    *linear, shift = np.ascontiguousarray(rows.transpose(2, 0, 1).reshape(3, -1))
    points, turns = np.concatenate(unfolding.outlines), np.stack(linear)
    return lambda: points @ turns + shift


def seconds(work: Callable[[], Any], repeats: int) -> float:
    start = time.process_time()
    for _ in range(repeats):
        work()
    return (time.process_time() - start) / repeats


def measure(data: list[dict[str, Any]]) -> dict[str, float]:
    """Seconds a spec for each way, each the median of rounds taken in turn."""
    specs = [read_spec(d) for d in data]
    floors = [floor_of(spec) for spec in specs]
    lines = b"".join(json.dumps(d).encode() + b"\n" for d in data)
    fresh = [json.dumps(d) for d in data]
    ways: dict[str, tuple[Callable[[], Any], int]] = {
        "floor": (lambda: [floor() for floor in floors], 200),
        "holes": (lambda: [unfold(spec).holes() for spec in specs], 5),
        "lines": (lambda: answer_lines(answer, io.BytesIO(lines), io.BytesIO()), 3),
        "reading": (lambda: [read_spec(text) for text in fresh], 5),
    }
    times: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(ROUNDS):
        for name, (work, repeats) in ways.items():
            times[name].append(seconds(work, repeats) / len(specs))
    return {name: median(taken) for name, taken in times.items()}


def main() -> None:
    rng = Random(7)
    for folds, clear in product(FACES, (True, False)):
        data = random_specs(folds, rng, clear=clear)
        pieces = [piece for d in data for piece in unfold(read_spec(d)).pieces]
        cut = sum(not piece.whole for piece in pieces)
        taken = {name: s * 1e6 for name, s in measure(data).items()}
        floor = taken["floor"]
        print(
            f"{folds} folds, {FACES[folds]} faces ({cut} of {len(pieces)} pieces cut): floor {floor:.2f} us, "
            f"spec to holes {taken['holes']:.0f} us = {taken['holes'] / floor:.0f} x (goal {GOALS[folds]}), "
            f"a line of the command line {taken['lines']:.0f} us = {taken['lines'] / floor:.0f} x "
            f"(of it reading {taken['reading']:.0f} us)"
        )


if __name__ == "__main__":
    main()
