"""Where a drawing stands: sheet widths become whole units, and y turns over, once and only here.

A sheet's width is 8400 units, so that halves, thirds, quarters, fifths, sixths, sevenths, eighths, twelfths and
sixteenths all fall on whole units. The margin is 600: a square sheet takes 7/8 of its frame, and its edges fall on the
middle of a pixel when the frame is 24, 40, 56, 72 ... pixels wide. Every picture of a question puts the sheet in the
same place; paper that reaches beyond the sheet widens the frame, not the scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import ceil, floor

import numpy as np

from geometry.plane import to_xy
from geometry.spec import Sheet

WIDTH = 8400
MARGIN = 600
STANDARD = WIDTH + 2 * MARGIN
TIE = 0.5 + 1e-5  # rounds halves up, also when a coordinate is a hair below one


@dataclass(frozen=True)
class Frame:
    """A window on the plane of the paper.

    ``left`` and ``top`` are the sheet's bounds in sheet widths; ``x``, ``y``, ``width``, ``height`` the view box in
    units.
    """

    left: float
    top: float
    x: int
    y: int
    width: int
    height: int

    @property
    def view_box(self) -> str:
        return f"{self.x} {self.y} {self.width} {self.height}"

    def place(self, xy: np.ndarray) -> np.ndarray:
        """Points of the plane (N x 2, sheet widths) in whole units, y down."""
        return np.floor(self.scale(xy)).astype(int)

    def scale(self, xy: np.ndarray) -> np.ndarray:
        """Points of the plane in units, y down, not yet rounded: their whole part is the nearest whole unit.

        Taken as complex numbers, points are turned over by conjugation: the quickest way to do it for many.
        """
        points = np.ascontiguousarray(xy, dtype=float).view(complex).conj()
        points *= WIDTH
        points += self._origin
        return points.view(float)

    @cached_property
    def _origin(self) -> complex:
        return complex(MARGIN + TIE - self.left * WIDTH, MARGIN + TIE + self.top * WIDTH)

    def holding(self, *outlines: np.ndarray) -> Frame:
        """This frame, widened until it holds the outlines (each N x 2, sheet widths) with their margin."""
        placed = np.concatenate([self.place(xy) for xy in outlines])
        low = np.minimum(placed.min(axis=0) - MARGIN, (self.x, self.y))
        high = np.maximum(placed.max(axis=0) + MARGIN, (self.x + self.width, self.y + self.height))
        x, y, width, height = (int(v) for v in (*low, *(high - low)))
        return Frame(self.left, self.top, x, y, width, height)


@lru_cache(maxsize=256)
def frame_of(sheet: Sheet) -> Frame:
    """The frame of a flat sheet."""
    xy = to_xy(sheet.outline)
    (left, bottom), (right, top) = xy.min(axis=0), xy.max(axis=0)
    width = ceil(floor((right - left) * WIDTH * 1000) / 1000) + 2 * MARGIN
    height = ceil(floor((top - bottom) * WIDTH * 1000) / 1000) + 2 * MARGIN
    return Frame(float(left), float(top), 0, 0, width, height)
