"""The flat sheet as a pupil sees it: which holes it shows, and whether such a picture may be an option."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import accumulate, combinations

import numpy as np
import shapely

from geometry.folding import GRID
from geometry.marks import Cut, Key, Mark, regions
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
    meeting = _meeting(marks)
    return Flat(_joined(marks, meeting, overlapping=_overlap(marks, meeting)))


def flat_option(paper: Paper, marks: Sequence[Mark], known: Collection[Key] = ()) -> Flat | None:
    """A wrong picture, or None when it may not count: a hole off the sheet, too near its rim, or over another.

    ``known`` are the holes that the right answer shows too: they may lie where they lie.
    """
    meeting = _meeting(marks)
    if _overlap(marks, meeting):
        return None
    flat = Flat(_joined(marks, meeting, overlapping=False))
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


def lie_over_one_another(marks: Sequence[Mark]) -> bool:
    """True when two holes run into one another. No wrong picture may show that."""
    return len(marks) > 1 and _overlap(marks, _meeting(marks))


def _meeting(marks: Sequence[Mark]) -> list[tuple[int, int]]:
    """The pairs of holes, by their places, that may touch: those whose discs do."""
    at, reach = np.array([mark.at for mark in marks]), np.array([mark.radius for mark in marks])
    first, second = np.nonzero(np.abs(at[:, None] - at) < reach[:, None] + reach)
    return [(i, j) for i, j in zip(first.tolist(), second.tolist(), strict=True) if i < j]


def _overlap(marks: Sequence[Mark], meeting: Sequence[tuple[int, int]]) -> bool:
    """True when two holes lie over one another. Touching is no overlap."""
    return any(_lie_over(marks[i], marks[j]) for i, j in meeting)


def _joined(marks: Sequence[Mark], meeting: Sequence[tuple[int, int]], *, overlapping: bool) -> tuple[Mark, ...]:
    """Pieces that meet made one; whole holes that stand alone as they are."""
    if not overlapping and all(mark.cut.whole for mark in marks):
        return tuple(marks)
    home = list(range(len(marks)))
    for i, j in meeting:
        home = [home[i] if at == home[j] else at for at in home]
    groups: dict[int, list[Mark]] = {}
    for mark, at in zip(marks, home, strict=True):
        groups.setdefault(at, []).append(mark)
    return tuple(part for group in groups.values() for part in _as_one(tuple(group)))


@lru_cache(maxsize=4096)
def _lie_over(one: Mark, other: Mark) -> bool:
    """Kept, as most wrong pictures of a question repeat most of the right one's holes; so is ``_as_one``."""
    return bool(shapely.intersection(one.region(), other.region(), grid_size=GRID).area > LOST)


@lru_cache(maxsize=2048)
def _as_one(marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """The holes that these pieces make together."""
    if len(marks) == 1:
        cut, at, u, flip, _ = marks[0]
        alone = _as_region(cut, u, flip)
        return (alone._replace(at=alone.at + at),)
    union = shapely.union_all([mark.region() for mark in marks], grid_size=GRID)
    label = marks[0].cut.label if len({mark.cut.label for mark in marks}) == 1 else "hole"
    return tuple(fragment(part, label) for part in shapely.get_parts(union) if part.geom_type == "Polygon")


@lru_cache(maxsize=1024)
def _as_region(cut: Cut, u: complex, flip: bool) -> Mark:
    """A cut that stands alone, known by its region as what was joined is: at the origin, in one pose for all places."""
    return fragment(Mark(cut, 0j, u, flip).region(), cut.label)
