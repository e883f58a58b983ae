"""The vertices of many polygons in one array, so that one numpy call serves them all."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from geometry.kept import kept
from geometry.plane import Polygon


class Corners:
    """The vertices of many polygons, one polygon after another, as complex numbers x + iy.

    ``counts`` are how many are each polygon's, ``starts`` and ``ends`` where they begin and end.
    """

    def __init__(self, polygons: Sequence[Polygon]):
        """Exact polygons, each number rounded once."""
        self.at = np.array([complex(x / w, y / w) for polygon in polygons for x, y, w in polygon])
        counts = [len(polygon) for polygon in polygons]
        ends = list(accumulate(counts, initial=0))
        self.counts, self.starts, self.ends = np.array(counts), np.array(ends[:-1]), np.array(ends[1:])

    @kept
    def spans(self) -> list[tuple[int, int]]:
        """Where each polygon's vertices begin and end."""
        return list(zip(self.starts.tolist(), self.ends.tolist(), strict=True))

    @kept
    def homes(self) -> np.ndarray:
        """To which polygon each vertex belongs."""
        return np.arange(len(self.counts)).repeat(self.counts)

    @kept
    def along(self) -> np.ndarray:
        """The edge from each vertex to the next of its polygon."""
        along = np.empty_like(self.at)
        np.subtract(self.at[1:], self.at[:-1], out=along[:-1])
        lasts = self.ends - 1
        along[lasts] = self.at[self.starts] - self.at[lasts]
        return along

    @kept
    def lengths(self) -> np.ndarray:
        """How long each of these edges is."""
        return np.abs(self.along)

    def areas(self) -> np.ndarray:
        """Each polygon's area, positive when it runs anticlockwise."""
        return np.add.reduceat((self.at.conj() * self.along).imag, self.starts) / 2

    def perimeters(self) -> np.ndarray:
        """The length of each polygon's rim, which is no less than twice its diameter."""
        return np.add.reduceat(self.lengths, self.starts)
