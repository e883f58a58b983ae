"""Random specs in their JSON form, from a seed: every sheet, both crease forms, over and behind, all layers and flaps.

Points are mostly drawn from the paper as it lies (corners, middles, points of edges), since that is where people fold
and where rules meet; the rest are any rationals. Some specs are impossible on purpose.
"""

from __future__ import annotations

from fractions import Fraction as F
from random import Random
from typing import Any

from tests.geometry import oracle

SHAPES = (
    "disc",
    "half-disc",
    "triangle",
    "square",
    "rectangle",
    "heart",
    "star",
    "cross",
    "arrow",
    "drop",
    "crescent",
    "L-piece",
)
SHEETS: dict[str, list[tuple[int, int]]] = {  # polygons in tenths of a sheet width
    "L": [(0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)],
    "U": [(0, 0), (10, 0), (10, 9), (7, 9), (7, 3), (3, 3), (3, 9), (0, 9)],
    "cross": [(3, 0), (7, 0), (7, 3), (10, 3), (10, 7), (7, 7), (7, 10), (3, 10), (3, 7), (0, 7), (0, 3), (3, 3)],
    "comb": [(0, 0), (10, 0), (10, 8), (8, 8), (8, 3), (6, 3), (6, 10), (4, 10), (4, 3), (2, 3), (2, 7), (0, 7)],
    "arrowhead": [(0, 0), (5, 3), (10, 0), (5, 10)],
    "star": [(5, 0), (6, 4), (10, 5), (6, 6), (5, 10), (4, 6), (0, 5), (4, 4)],
    "kite": [(5, 0), (9, 6), (5, 10), (1, 6)],
    "zigzag": [(0, 0), (3, 5), (5, 1), (7, 5), (10, 0), (10, 9), (7, 6), (5, 10), (3, 6), (0, 9)],
}
DIRECTIONS = [(1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (1, 3), (-2, 3), (5, -2), (7, 4)]


def random_spec(
    rng: Random, *, folds: tuple[int, int] = (1, 4), flaps: float = 0.5, convex: float = 0.6, punches: int = 2
) -> dict[str, Any]:
    """A spec of ``folds`` folds. ``flaps``: the share of folds that take some layers; ``convex``: of convex sheets."""
    sheet = _sheet(rng, convex=convex)
    outline = oracle.sheet_of(sheet)
    made: list[dict[str, Any]] = []
    stack = [oracle.Layer(oracle.cells_of(outline))]
    for _ in range(rng.randint(*folds)):
        fold = _possible_fold(rng, stack, flaps=flaps)
        made.append(fold)
        try:
            stack = oracle.fold_up(outline, made)[0][-1]
        except oracle.Refused:
            break
    return {
        "version": 1,
        "sheet": sheet,
        "folds": made,
        "punches": [_punch(rng, stack) for _ in range(rng.randint(1, punches))],
    }


def _sheet(rng: Random, *, convex: float) -> dict[str, Any]:
    if rng.random() < convex:
        kind = rng.choice(["square", "square", "rectangle", "polygon"])
        if kind == "rectangle":
            return {"kind": kind, "width": str(F(rng.randint(5, 14), 10)), "height": str(F(rng.randint(5, 14), 10))}
        if kind == "polygon":
            return _polygon(rng, [(0, 0), (8, 0), (10, 6), (3, 9)] if rng.random() < 0.5 else SHEETS["kite"])
        return {"kind": "square"}
    return _polygon(rng, SHEETS[rng.choice(sorted(SHEETS))])


def _polygon(rng: Random, points: list[tuple[int, int]]) -> dict[str, Any]:
    """The polygon, in half the cases with every corner moved a little, and run through either way round."""
    shake = rng.random() < 0.5
    corners = [[F(c, 10) + (F(rng.randint(-9, 9), 300) if shake else 0) for c in p] for p in points]
    if rng.random() < 0.5:
        corners.reverse()
    return {"kind": "polygon", "points": [[str(x), str(y)] for x, y in corners]}


def _possible_fold(rng: Random, stack: oracle.Stack, *, flaps: float) -> dict[str, Any]:
    """A fold that the paper as it lies allows, if one is found in a few tries."""
    for _ in range(6):
        fold = _fold(rng, stack, flaps=flaps)
        try:
            line, grip = oracle.line_of(fold, 1)
            oracle._folded(stack, line, grip, fold, 1)
        except oracle.Refused:
            if rng.random() < 0.1:
                break
            continue
        break
    return fold


def _fold(rng: Random, stack: oracle.Stack, *, flaps: float) -> dict[str, Any]:
    grip = _place(rng, stack)
    fold: dict[str, Any]
    if rng.random() < 0.5:
        fold = {"bring": _written(grip), "to": _written(_place(rng, stack))}
    else:
        a, (dx, dy) = _place(rng, stack), rng.choice(DIRECTIONS)
        b = (a[0] + F(dx, 4), a[1] + F(dy, 4)) if rng.random() < 0.6 else _place(rng, stack)
        fold = {"crease": [_written(a), _written(b)], "moves": _written(grip)}
    if rng.random() < 0.5:
        fold["way"] = rng.choice(["over", "behind", "behind"])
    if rng.random() < flaps:
        fold["layers"] = rng.choice([1, 1, 1, 2, 2, 3, 4])
    return fold


def _place(rng: Random, stack: oracle.Stack) -> oracle.Point:
    """A point of the paper as it lies: a corner, a point of an edge or of the inside; or any point near it."""
    cell = rng.choice(rng.choice(stack).lying())
    i = rng.randrange(len(cell))
    kind = rng.random()
    if kind < 0.35:
        return cell[i]
    if kind < 0.6:
        return _mix(
            cell[i - 1], cell[i], rng.choice([F(1, 2), F(1, 2), F(1, 3), F(1, 4), F(3, 5), F(rng.randint(1, 6), 7)])
        )
    if kind < 0.9:
        inner = _mix(cell[i - 1], cell[i], F(rng.randint(1, 7), 8))
        return _mix(inner, cell[(i + 1) % len(cell)], F(rng.randint(1, 7), 8))
    return F(rng.randint(-20, 120), 100), F(rng.randint(-20, 120), 100)


def _mix(p: oracle.Point, q: oracle.Point, t: F) -> oracle.Point:
    return p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])


def _punch(rng: Random, stack: oracle.Stack) -> dict[str, Any]:
    punch = {
        "shape": rng.choice(SHAPES),
        "at": _written(_place(rng, stack)),
        "size": str(F(rng.choice([4, 6, 8, 8, 12, 20, 40]), 96)),
        "turn": rng.choice([0, 0, 90, 180, 270, 45, 30, 17]),
    }
    if rng.random() < 0.15:
        punch |= {"shape": "outline", "points": rng.choice(OUTLINES)}
    return punch


OUTLINES = [
    [["-1/2", "-1/2"], ["1/2", "-1/2"], ["1/2", "1/2"], ["-1/2", "1/2"]],
    [["0", "-1/2"], ["1/2", "-1/2"], ["1/2", "1/2"], ["0", "1/2"]],
    [["-1/2", "0"], ["0", "0"], ["0", "1/2"], ["1/4", "-1/2"]],
    [
        ["-1/2", "-1/2"],
        ["1/2", "-1/2"],
        ["1/2", "1/2"],
        ["1/4", "1/2"],
        ["1/4", "-1/4"],
        ["-1/4", "-1/4"],
        ["-1/4", "1/2"],
        ["-1/2", "1/2"],
    ],
]


def _written(p: oracle.Point) -> list[str]:
    """The point as a spec has it; one with very long numbers is rounded, as a person would."""
    return [str(c if c.denominator < 10**40 else F(round(c * 10**6), 10**6)) for c in p]
