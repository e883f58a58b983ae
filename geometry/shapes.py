"""The shapes of punches: outlines in units of ``size``, the diameter of the circle about the shape.

Every outline runs anticlockwise about the centre of its circle, pointing up when it points anywhere. A shape states its
own symmetries; tests confirm them by computation. Outlines that mirror themselves are built as one half and its image,
so that the two halves agree to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import cos, pi, sin, sqrt

import numpy as np

ROUND = 32  # vertices of a whole circle


@dataclass(frozen=True)
class Shape:
    """A punch's shape.

    ``rotations``: how many turns of the full circle leave it as it is. ``axes``: directions (degrees) of the lines it
    mirrors itself in; empty when it is chiral.
    """

    name: str
    label: str
    rotations: int
    axes: tuple[float, ...]
    draw: Callable[[], np.ndarray]

    @property
    def outline(self) -> np.ndarray:
        """Vertices as an N x 2 array, in units of ``size``, anticlockwise about the centre of the circle."""
        return _outline(self.name)

    @property
    def is_chiral(self) -> bool:
        """True when turning the shape over gives another shape, however it is turned."""
        return not self.axes


@cache
def _outline(name: str) -> np.ndarray:
    outline = SHAPES[name].draw()
    outline.flags.writeable = False
    return outline


def _arc(centre: tuple[float, float], radius: float, start: float, end: float, steps: int) -> list[tuple[float, float]]:
    """Points of an arc from ``start`` to ``end`` degrees, both ends included."""
    angles = [(start + (end - start) * i / steps) * pi / 180 for i in range(steps + 1)]
    return [(centre[0] + radius * cos(t), centre[1] + radius * sin(t)) for t in angles]


def _upright(right: list[tuple[float, float]]) -> np.ndarray:
    """A shape that mirrors itself in the upright line, from its right half, given from the bottom to the top."""
    left = [(-x, y) for x, y in reversed(right) if x > 1e-12]
    return np.array([(max(x, 0.0), y) for x, y in right] + left)


def _quarters(corner: list[tuple[float, float]]) -> np.ndarray:
    """A shape of four equal quarters, from the points of one."""
    x, y = np.array(corner).T
    return np.concatenate([np.column_stack(p) for p in ((x, y), (-y, x), (-x, -y), (y, -x))])


def _disc() -> np.ndarray:
    eighth = [pi / 2 * i / (ROUND // 4) for i in range(ROUND // 4)]
    half = [(cos(t) / 2, sin(t) / 2) for t in eighth]
    return _quarters(half)


def _half_disc() -> np.ndarray:
    return _upright([(0.5, 0.0), *_arc((0, 0), 0.5, 0, 90, ROUND // 4)[1:]])


def _triangle() -> np.ndarray:
    return _upright([(0.5 * cos(-5 * pi / 18), 0.5 * sin(-5 * pi / 18)), (0.0, 0.5)])


def _square() -> np.ndarray:
    return _quarters([(sqrt(0.125), sqrt(0.125))])


def _rectangle() -> np.ndarray:
    short = 0.5 / sqrt(5)
    return np.array([(short, -2 * short), (short, 2 * short), (-short, 2 * short), (-short, -2 * short)])


def _cross() -> np.ndarray:
    arm = 0.5 / sqrt(10)
    return _quarters([(3 * arm, -arm), (3 * arm, arm), (arm, arm)])


def _star() -> np.ndarray:
    rays = [(0.5 if i % 2 else 0.2, (-90 + 36 * i) * pi / 180) for i in range(6)]
    return _upright([(r * cos(t), r * sin(t)) for r, t in rays])


def _heart() -> np.ndarray:
    lobe = _arc((0.235, 0.2), 0.235, -28, 180, 14)
    return _centred(_upright([(0.0, -0.5), (0.2, -0.235), *lobe]))


def _arrow() -> np.ndarray:
    return _centred(_upright([(0.11, -0.5), (0.11, 0.06), (0.33, 0.06), (0.0, 0.5)]))


def _drop() -> np.ndarray:
    return _centred(_upright([*_arc((0, -0.2), 0.3, -90, 32, 12), (0.0, 0.5)]))


def _crescent() -> np.ndarray:
    outer = _arc((0, 0), 0.5, 180, 360, ROUND // 2)[ROUND // 4 :]
    inner = _arc((0, 0.28), sqrt(0.25 + 0.28**2), -atan_degrees(0.28 / 0.5), -90, 10)[1:]
    right = outer + inner
    left = [(-x, y) for x, y in reversed(right) if x > 1e-12]
    return np.array([(max(x, 0.0), y) for x, y in right] + left)


def atan_degrees(ratio: float) -> float:
    return float(np.degrees(np.arctan(ratio)))


def _l_piece() -> np.ndarray:
    width, height, thick = 0.62, 1.0, 0.27
    corners = [(0, 0), (width, 0), (width, thick), (thick, thick), (thick, height), (0, height)]
    return _centred(np.array(corners, dtype=float))


def _centred(outline: np.ndarray) -> np.ndarray:
    """The outline moved and scaled so that its smallest surrounding circle has diameter 1 about the origin."""
    centre, radius = smallest_circle(outline)
    centre = np.where(np.abs(centre) < 1e-12, 0.0, centre)
    return (outline - centre) / (2 * radius)


def smallest_circle(points: np.ndarray) -> tuple[np.ndarray, float]:
    """Centre and radius of the smallest circle about the points (N x 2): the least one through two or three of them."""
    best: tuple[np.ndarray, float] | None = None
    n = len(points)
    for i in range(n):
        for j in range(i + 1, n):
            candidates = [((points[i] + points[j]) / 2)]
            candidates += [_circumcentre(points[i], points[j], points[k]) for k in range(j + 1, n)]
            for centre in candidates:
                radius = float(np.hypot(*(points - centre).T).max())
                if best is None or radius < best[1]:
                    best = (centre, radius)
    if best is None:
        raise ValueError("a circle needs two points")
    return best


def _circumcentre(p: np.ndarray, q: np.ndarray, r: np.ndarray) -> np.ndarray:
    a, b = q - p, r - p
    d = 2 * (a[0] * b[1] - a[1] * b[0])
    if abs(d) < 1e-12:
        return p
    a2, b2 = a @ a, b @ b
    return p + np.array([b[1] * a2 - a[1] * b2, a[0] * b2 - b[0] * a2]) / d


_EIGHTHS = (0.0, 45.0, 90.0, 135.0)
SHAPES = {
    shape.name: shape
    for shape in (
        Shape("disc", "disc", ROUND, tuple(180 * i / ROUND for i in range(ROUND)), _disc),
        Shape("half-disc", "half-disc", 1, (90.0,), _half_disc),
        Shape("triangle", "triangle", 1, (90.0,), _triangle),
        Shape("square", "square", 4, _EIGHTHS, _square),
        Shape("rectangle", "rectangle", 2, (0.0, 90.0), _rectangle),
        Shape("heart", "heart", 1, (90.0,), _heart),
        Shape("star", "star", 5, tuple(18.0 + 36 * i for i in range(5)), _star),
        Shape("cross", "cross", 4, _EIGHTHS, _cross),
        Shape("arrow", "arrow", 1, (90.0,), _arrow),
        Shape("drop", "drop", 1, (90.0,), _drop),
        Shape("crescent", "crescent", 1, (90.0,), _crescent),
        Shape("L-piece", "L-piece", 1, (), _l_piece),
    )
}
