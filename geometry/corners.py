"""The vertices of many polygons in one array, so that one numpy call serves them all."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import accumulate

import numpy as np

from geometry.plane import Polygon


class Corners:
    """The vertices of many polygons, one polygon after another.

    ``xy`` are N x 2 floats; ``counts`` how many are each polygon's, ``starts`` and ``ends`` where they begin and end;
    ``nexts`` where the next vertex of the same polygon stands.
    """

    def __init__(self, xy: np.ndarray, counts: Sequence[int]):
        self.xy = xy
        self.counts = counts
        self.ends = list(accumulate(counts))
        self.starts = [0, *self.ends[:-1]]

    @classmethod
    def of(cls, polygons: Sequence[Polygon]) -> Corners:
        """Exact polygons, each number rounded once."""
        flat = [c for polygon in polygons for x, y, w in polygon for c in (x / w, y / w)]
        return cls(np.array(flat).reshape(-1, 2), [len(polygon) for polygon in polygons])

    @cached_property
    def nexts(self) -> np.ndarray:
        nexts = np.arange(1, len(self.xy) + 1)
        nexts[np.array(self.ends) - 1] = self.starts
        return nexts

    def areas(self) -> np.ndarray:
        """Each polygon's area, positive when it runs anticlockwise."""
        x, y = self.xy.T
        after = self.nexts
        return np.add.reduceat(x * y[after] - x[after] * y, self.starts) / 2

    def split(self) -> list[np.ndarray]:
        """Each polygon's own vertices."""
        return [self.xy[start:end] for start, end in zip(self.starts, self.ends, strict=True)]
