"""Where a punch fits: clear of every layer's edge and of other punches, so that its holes can be told and read."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np
import shapely

from geometry.checks import CLEAR, HAIR, PRINTED
from geometry.plane import to_xy
from geometry.punching import outline_of
from geometry.spec import Punch
from geometry.unfolding import Unfolding

GRAINS = (24, 48)  # parts of the sheet's width that places are given in: those that are easier to read and type first
SIZES = 48  # sizes go by forty-eighths of the sheet
SMALLEST = Fraction(1, 16)  # a hole of this size can just be read in print


class Place(NamedTuple):
    """Where a punch is put, and how large, as a teacher would type it."""

    at: str
    size: str


class Ground:
    """Folded paper and the punches that are to be kept clear of (those that there are besides the one to be put)."""

    def __init__(self, folded: Unfolding, others: Sequence[Punch] = ()) -> None:
        state = folded.folded.states[-1]
        self._layers = np.array([shapely.Polygon(face.folded_xy) for face in state.faces])
        self._taken = shapely.union_all([*shapely.boundary(self._layers), *map(_region, others)])
        self._bounds = shapely.bounds(state.outline)
        self._clear = CLEAR / PRINTED * float(np.ptp(to_xy(folded.spec.sheet.outline)[:, 0]))

    def holds(self, punch: Punch) -> bool:
        """True when a punch lies on paper, clear of edges and of the others."""
        region = _region(punch)
        on_paper = bool(shapely.covers(self._layers, region).any())
        return on_paper and bool(shapely.distance(region, self._taken) >= self._clear - HAIR)

    def best(self, size: Fraction) -> Place | None:
        """Where most layers lie, and there the roomiest place; smaller where there is no room for such a one."""
        found = self._room_for(size)
        return found and found.at(np.lexsort((found.room, found.layers))[-1])

    def nearest(self, punch: Punch) -> Place | None:
        """The place nearest to where a punch is, under as many layers as there if it can be; smaller where it must."""
        at = np.array([float(v) for v in punch.at])
        layers = shapely.covers(self._layers, shapely.Point(at)).sum()
        found = self._room_for(punch.size, reach=float(np.abs(outline_of(punch) - at).max() / float(punch.size)))
        return found and found.at(np.lexsort((np.hypot(*(found.points - at).T), found.layers < layers))[0])

    def widest(self) -> Place | None:
        """Where paper is widest, though there is no room: for a check to tell of. None if it is narrower than that."""
        table = self._table(GRAINS[-1])
        on_paper = table.layers > 0
        if not on_paper.any():
            return None
        found = table.only(on_paper, SMALLEST)
        return found.at(found.room.argmax())

    def _room_for(self, size: Fraction, reach: float = 0.5) -> _Room | None:
        """The places where a circle has room, ``reach`` sizes about its middle: of this size, or of the largest."""
        tables = [self._table(grain) for grain in GRAINS]
        smaller = [Fraction(n, SIZES) for n in range(SIZES, 0, -1) if SMALLEST <= Fraction(n, SIZES) < size]
        for wanted in (size, *smaller):
            for table in tables:
                fits = (table.layers > 0) & (table.room >= float(wanted) * reach + self._clear)
                if fits.any():
                    return table.only(fits, wanted)
        return None

    def _table(self, grain: int) -> _Room:
        x0, y0, x1, y1 = (round(bound * grain) for bound in self._bounds)
        places = np.array([(x, y) for x in range(x0, x1 + 1) for y in range(y0, y1 + 1)])
        points = shapely.points(places / grain)
        layers = shapely.covers(self._layers[:, None], points).sum(axis=0)
        return _Room(grain, places, layers, np.asarray(shapely.distance(points, self._taken)))


class _Room(NamedTuple):
    """Places in parts of the sheet, N x 2; how many layers lie there, and how far the next edge or punch is."""

    grain: int
    places: np.ndarray
    layers: np.ndarray
    room: np.ndarray
    size: Fraction = Fraction(0)

    @property
    def points(self) -> np.ndarray:
        return self.places / self.grain

    def only(self, which: np.ndarray, size: Fraction) -> _Room:
        return _Room(self.grain, self.places[which], self.layers[which], self.room[which], size)

    def at(self, which: int | np.intp) -> Place:
        x, y = (Fraction(int(v), self.grain) for v in self.places[which])
        return Place(f"{x}, {y}", str(self.size))


def _region(punch: Punch) -> shapely.Polygon:
    return shapely.Polygon(outline_of(punch))
