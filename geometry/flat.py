"""The flat sheet as a pupil sees it: which holes it shows, and whether such a picture may be an option."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, combinations

import numpy as np
import shapely

from geometry.folding import GRID
from geometry.marks import Key, Mark, regions
from geometry.openings import Layer, Paper, fragment
from geometry.telling_apart import are_apart, farthest_alike

RIM = 0.012  # sheet widths that a hole keeps from the rim
SLACK = 1e-5  # sheet widths: coarser numbers than a hole's own may not decide
LOST = 1e-7  # area: more than this lost in a union is an overlap


@dataclass(frozen=True, eq=False)
class Flat:
    """A flat sheet with holes. ``marks`` are the holes as seen: pieces that meet are one."""

    marks: tuple[Mark, ...]

    @cached_property
    def by_key(self) -> dict[Key, Mark]:
        return {mark.key(): mark for mark in self.marks}

    @cached_property
    def keys(self) -> frozenset[Key]:
        """Equal for pictures that look the same."""
        return frozenset(self.by_key)

    @cached_property
    def regions(self) -> tuple[shapely.Polygon, ...]:
        """The holes as polygons: rounded, and in an order that depends on the picture alone."""
        return regions(self.marks)

    def is_apart_from(self, other: Flat) -> bool:
        """True when the two pictures differ so that an eye sees it."""
        return are_apart((self.keys, self.by_key), (other.keys, other.by_key))


def all_apart(flats: Sequence[Flat]) -> bool:
    """True when any two of the pictures differ so that an eye sees it.

    A hole far from every hole of another picture settles it for both, so all are held against all at once; only
    pictures that are close throughout are looked at hole by hole.
    """
    marks = [mark for flat in flats for mark in flat.marks]
    far = farthest_alike(max([mark.cut.size for mark in marks])) + SLACK
    at = np.array([mark.at for mark in marks]).astype(np.complex64)
    x, y = at.real.copy(), at.imag.copy()
    near = np.square(x[:, None] - x) + np.square(y[:, None] - y) < far * far
    starts = list(accumulate([len(flat.marks) for flat in flats[:-1]], initial=0))
    close = np.logical_and.reduceat(np.logical_or.reduceat(near, starts, axis=1), starts, axis=0).tolist()
    pairs = combinations(range(len(flats)), 2)
    return all(flats[i].is_apart_from(flats[j]) for i, j in pairs if close[i][j] and close[j][i])


def flat_key(marks: Sequence[Mark]) -> Flat:
    """The right answer, whatever it looks like: holes may meet, overlap or run over the rim."""
    return Flat(_joined(marks, _overlap(marks)))


def flat_option(paper: Paper, marks: Sequence[Mark], known: Collection[Key] = ()) -> Flat | None:
    """A wrong picture, or None when it may not count: a hole off the sheet, too near its rim, or over another.

    ``known`` are the holes that the right answer shows too: they may lie where they lie.
    """
    if _overlap(marks):
        return None
    flat = Flat(_joined(marks, overlapping=False))
    (sheet,) = paper.layers(0)
    fits = all(key in known or is_clear_of_rim(sheet, mark) for key, mark in flat.by_key.items())
    return flat if fits and flat.marks else None


def is_clear_of_rim(sheet: Layer, mark: Mark) -> bool:
    """True when the whole hole lies on the sheet, ``RIM`` inside its edge."""
    if sheet.is_convex and sheet.depth(mark.at) >= mark.radius + RIM:
        return True
    xy = np.concatenate(mark.rings())
    if sheet.is_convex:
        return all(x * px + y * py - c >= RIM for x, y, c in sheet.edges for px, py in xy)
    inside = sheet.polygon.contains(mark.region())
    return bool(inside and sheet.polygon.exterior.distance(mark.region()) >= RIM)


def _joined(marks: Sequence[Mark], overlapping: bool) -> tuple[Mark, ...]:
    """Pieces that meet made one; whole holes that stand alone as they are."""
    if not overlapping and all(mark.cut.whole for mark in marks):
        return tuple(marks)
    union = shapely.union_all([mark.region() for mark in marks], grid_size=GRID)
    label = marks[0].cut.label if len({mark.cut.label for mark in marks}) == 1 else "hole"
    parts = [part for part in shapely.get_parts(union) if part.geom_type == "Polygon"]
    return tuple(fragment(part, label) for part in parts)


def _overlap(marks: Sequence[Mark]) -> bool:
    """True when two holes lie over one another. Touching is no overlap."""
    close = False
    for i, p in enumerate(marks):
        for q in marks[:i]:
            if abs(p.at - q.at) < p.radius + q.radius:
                close = True
                if (
                    p.cut.whole
                    and q.cut.whole
                    and shapely.intersection(p.region(), q.region(), grid_size=GRID).area > LOST
                ):
                    return True
    if not close or all(mark.cut.whole for mark in marks):
        return False
    pieces = [mark.region() for mark in marks]
    return sum(p.area for p in pieces) - shapely.union_all(pieces, grid_size=GRID).area > LOST
