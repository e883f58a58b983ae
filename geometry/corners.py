"""The vertices of many polygons in one array, so that one numpy call serves them all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.kept import kept
from geometry.plane import Polygon


class Corners:
    """The vertices of many polygons, one polygon after another, as complex numbers x + iy.

    ``starts`` and ``ends`` are where each polygon's begin and end; ``homes`` tells to which polygon each belongs.
    """

    def __init__(self, polygons: Sequence[Polygon]):
        """Exact polygons, each number rounded once."""
        self.at = np.fromiter([complex(x / w, y / w) for polygon in polygons for x, y, w in polygon], complex)
        counts = np.array([len(polygon) for polygon in polygons])
        self.ends = counts.cumsum()
        self.starts = self.ends - counts
        self.homes = np.arange(len(counts)).repeat(counts)

    @kept
    def spans(self) -> list[tuple[int, int]]:
        """Where each polygon's vertices begin and end."""
        return list(zip(self.starts.tolist(), self.ends.tolist(), strict=True))

    @kept
    def along(self) -> np.ndarray:
        """The edge from each vertex to the next of its polygon."""
        nexts = np.arange(1, len(self.at) + 1)
        nexts[self.ends - 1] = self.starts
        return self.at[nexts] - self.at

    @kept
    def lengths(self) -> np.ndarray:
        """How long each of these edges is."""
        return np.abs(self.along)

    @kept
    def sizes(self) -> np.ndarray:
        """Each polygon's perimeter and twice its area, as perimeter + 2i area.

        The perimeter is no less than twice the diameter. The area is positive when the polygon runs anticlockwise.
        """
        parts = self.at.conj()
        parts *= self.along
        parts.real = self.lengths
        return np.add.reduceat(parts, self.starts)
