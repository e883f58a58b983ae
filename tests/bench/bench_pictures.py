"""How long pictures take, as a ratio to a floor measured in the same run: ``python tests/bench/bench_pictures.py``.

The floor of an option is one %-format of its whole-number coordinates, ready in a tuple: no rounding, no order, no
direction, no check. CPU time; the rounds of both are interleaved, and the median of the rounds' ratios is told.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import process_time

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parents[2]))

from geometry.pictures import draw_option, draw_stem, draw_steps
from geometry.pictures.frame import frame_of
from geometry.pictures.outlines import outline_path
from geometry.shapes import SHAPES
from geometry.spec import Sheet
from tests.geometry.gallery import drawn

LOOPS, ROUNDS = 300, 15
LIMIT = 1.5


def sixteen_holes() -> tuple[shapely.Polygon, ...]:
    """Sixteen discs of 32 vertices, every other one run through clockwise, as mirrored holes are."""
    disc = SHAPES["disc"].outline / 8
    holes = [shapely.Polygon(disc + np.array((0.14 + 0.24 * (i % 4), 0.14 + 0.24 * (i // 4)))) for i in range(16)]
    return tuple(hole.reverse() if i % 2 else hole for i, hole in enumerate(holes))


def seconds(work: Callable[[], object], loops: int = LOOPS) -> float:
    start = process_time()
    for _ in range(loops):
        work()
    return (process_time() - start) / loops


def compare(name: str, work: Callable[[], object], floor: Callable[[], object]) -> float:
    """Print the medians and give the median ratio."""
    rounds = [(seconds(work), seconds(floor)) for _ in range(ROUNDS)]
    ratio = median(w / f for w, f in rounds)
    took, least = (median(values) * 1e6 for values in zip(*rounds, strict=True))
    print(f"{name:34} {took:7.1f} us  floor {least:6.1f} us  ratio {ratio:.2f}")
    return ratio


def main() -> int:
    sheet, holes = Sheet(), sixteen_holes()
    frame = frame_of(sheet)
    units = tuple(np.concatenate([frame.place(shapely.get_coordinates(h)[:-1]) for h in holes]).ravel().tolist())
    pattern = ("M%d %d" + "L%d %d" * 31 + "z") * 16
    compare("path text of 16 holes", lambda: outline_path(frame, holes), lambda: pattern % units)
    ratio = compare("option, 16 holes of 32 vertices", lambda: draw_option(sheet, holes), lambda: pattern % units)
    three = drawn("three")
    for name, work in (("stem of three folds", draw_stem), ("steps of three folds", draw_steps)):
        print(f"{name:34} {median(seconds(lambda: work(three), 5) for _ in range(5)) * 1e3:7.1f} ms")  # noqa: B023
    print(f"limit {LIMIT}: {'kept' if ratio <= LIMIT else 'EXCEEDED'}")
    return int(ratio > LIMIT)


if __name__ == "__main__":
    sys.exit(main())
