"""How long telling five options apart takes, as a ratio to a floor measured in the same run. By hand:

    python -m tests.bench.bench_telling_apart

The floor is ten XORs of five ready rasters, 100 by 100 pixels of one bit: it tells that pictures differ, not that an
eye sees it. Ours starts from marks (cut, place, turn) without their keys; all pairs are judged as a set's
rule wants it. The question has four folds and one punch of 32 vertices, so that each sheet shows 16 holes. CPU time,
the median of rounds taken in turn. Goal: 12 times the floor.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from itertools import combinations
from statistics import median

import numpy as np
from PIL import Image, ImageDraw

from geometry.flat import Flat, all_apart
from geometry.mistakes import faulty_openings, right_states
from geometry.openings import Paper, punched
from geometry.spec import read_spec
from geometry.unfolding import unfold

GOAL = 12
ROUNDS, TIMES = 9, 200
SPEC = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [
        {"bring": [0, 0], "to": [1, 0]},
        {"bring": [1, 0], "to": [1, 1]},
        {"bring": ["1/2", 1], "to": [1, 1]},
        {"bring": [1, "1/2"], "to": [1, 1]},
    ],
    "punches": [{"shape": "disc", "at": ["21/24", "22/24"], "size": "1/12"}],
}


def five_flats() -> list[Flat]:
    """The right answer of sixteen holes and four wrong ones."""
    unfolding = unfold(read_spec(SPEC))
    paper, marks = Paper(unfolding.folded), punched(unfolding)
    states = right_states(paper, marks)
    right = Flat(states[0])
    found = [right]
    for number in range(1, 5):
        for made in faulty_openings(paper, states[number], number):
            flat = Flat(tuple(paper.open_all(made.marks, made.folds)))
            if len(flat.marks) == 16 and all(flat.is_apart_from(other) for other in found):
                found.append(flat)
                break
    return found


def raster(flat: Flat) -> np.ndarray:
    image = Image.new("1", (100, 100))
    draw = ImageDraw.Draw(image)
    for region in flat.regions:
        draw.polygon([(x * 100, y * 100) for x, y in region.exterior.coords], fill=1)
    return np.packbits(np.asarray(image))


def main() -> int:
    flats = five_flats()
    pictures = [raster(flat) for flat in flats]
    pairs = list(combinations(range(5), 2))
    assert len(flats) == 5, len(flats)

    def floor() -> None:
        for i, j in pairs:
            np.bitwise_xor(pictures[i], pictures[j])

    def ours() -> None:
        assert all_apart([Flat(flat.marks) for flat in flats])

    times = measured((floor, ours))
    ratio = times[1] / times[0]
    print(f"floor {times[0] * 1e6:.1f} us, ours {times[1] * 1e6:.1f} us: {ratio:.1f} times (goal {GOAL})")
    print("holes", [len(flat.marks) for flat in flats])
    return int(ratio > GOAL)


def measured(works: Sequence[Callable[[], None]]) -> list[float]:
    taken: list[list[float]] = [[] for _ in works]
    for _ in range(ROUNDS):
        for work, into in zip(works, taken, strict=True):
            start = time.process_time()
            for _ in range(TIMES):
                work()
            into.append((time.process_time() - start) / TIMES)
    return [median(each) for each in taken]


if __name__ == "__main__":
    sys.exit(main())
