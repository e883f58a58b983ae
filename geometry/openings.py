"""Opening folded paper one fold at a time, hole by hole: the ground on which right and wrong openings are played.

``Paper`` knows which layers lie under a place in any state, and ``Opening`` what undoing one fold does. A right opening
leaves every hole on paper that stayed and carries over every hole on paper that moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import shapely

from geometry.folding import GRID, Face, Folded
from geometry.marks import CELL, Cut, Isometry, Key, Mark, isometry, merged, unit
from geometry.punching import Piece
from geometry.shapes import SHAPES
from geometry.spec import Punch
from geometry.unfolding import Unfolding

TOUCH = 1e-9  # sheet widths: less than this over an edge is on it
DEEP = 1e-3  # sheet widths: a corner this far inside a layer brings more than a touch of its region along
COARSE = CELL / 100  # moments of a joined region carry the noise of its overlay


@dataclass(frozen=True, eq=False)
class Layer:
    """A face where it lies in some state. ``edges`` are (x, y, c): a point lies x px + y py - c inside an edge."""

    moved: int
    xy: np.ndarray
    is_convex: bool

    @cached_property
    def edges(self) -> tuple[tuple[float, float, float], ...]:
        along = np.roll(self.xy, -1, axis=0) - self.xy
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        c = -along[:, 1] * self.xy[:, 0] + along[:, 0] * self.xy[:, 1]
        return tuple(zip((-along[:, 1]).tolist(), along[:, 0].tolist(), c.tolist(), strict=True))

    @cached_property
    def polygon(self) -> shapely.Polygon:
        return shapely.Polygon(self.xy)

    @cached_property
    def padded(self) -> shapely.Polygon:
        """The layer and a hair about it, so that what ends at its edge lies on it."""
        return self.polygon.buffer(TOUCH, join_style="mitre")

    def depth(self, at: complex) -> float:
        """How far inside its nearest edge's line a point lies: negative outside (convex layers only)."""
        px, py = at.real, at.imag
        return min(x * px + y * py - c for x, y, c in self.edges)

    def depths(self, corners: np.ndarray) -> np.ndarray:
        """How far inside each edge's line each of these points (N complex) lies: edges x N."""
        x, y, c = self._lines
        return x * corners.real + y * corners.imag - c

    @cached_property
    def _lines(self) -> np.ndarray:
        """The edges' x, y and c, each as a column."""
        return np.array(self.edges).T[:, :, None]

    def takes(self, mark: Mark) -> bool | None:
        """True when the mark lies on this layer, False when clear of it, None when it lies across its edge."""
        if self.is_convex:
            depth = self.depth(mark.at)
            if depth >= mark.radius:
                return True
            if depth <= -mark.radius:
                return False
            depths = self.depths(mark.corners)
            if depths.min() >= -TOUCH:
                return True
            if depths.max(axis=1).min() <= 0:
                return False
            if depths.min(axis=0).max() > DEEP:
                return None
        region = mark.region()
        if self.padded.covers(region):
            return True
        common = shapely.intersection(self.polygon, region, grid_size=GRID)
        return False if common.area < TOUCH else None


class Split(NamedTuple):
    """What the right opening makes of one hole: where it stays and where its copy comes; None for no such paper."""

    hole: Mark
    stay: Mark | None
    copy: Mark | None

    @property
    def is_pair(self) -> bool:
        return self.stay is not None and self.copy is not None


@dataclass(frozen=True, eq=False)
class Opening:
    """Undoing fold ``number``.

    ``mirror`` is the reflection in its crease; ``normal`` the unit direction square to it, towards the side the paper
    came from; ``foot`` the middle of the crease as far as it lies on moved paper; ``width`` how far the moved part
    reaches from the crease, in sheet widths.
    """

    number: int
    mirror: Isometry
    normal: complex
    foot: complex
    width: float

    @property
    def along(self) -> complex:
        """The crease's direction."""
        return self.normal * 1j

    def height(self, at: complex) -> float:
        """How far a point lies beyond the crease, towards where the moved paper came from."""
        return (self.normal.conjugate() * (at - self.foot)).real

    def split(self, marks: Iterable[Mark]) -> list[Split]:
        """What the right opening makes of each hole."""
        bit = 1 << (self.number - 1)
        return [self._split(mark, bit) for mark in marks]

    def _split(self, mark: Mark, bit: int) -> Split:
        layers = mark.layers or ()
        stayed = tuple([m for m in layers if not m & bit])
        moved = tuple([m ^ bit for m in layers if m & bit])
        stay = mark._replace(layers=stayed) if stayed else None
        return Split(mark, stay, self.mirror.mark(mark, moved) if moved else None)

    def open(self, marks: Iterable[Mark]) -> tuple[Mark, ...]:
        """The right opening: the holes of the state with this fold undone."""
        return merged([m for split in self.split(marks) for m in (split.stay, split.copy) if m is not None])


class Paper:
    """A folded sheet, every state of it, for asking which paper lies where."""

    def __init__(self, folded: Folded):
        self.folded = folded
        self.count = len(folded.creases)
        self._layers: dict[int, tuple[Layer, ...]] = {}
        self._openings: dict[int, Opening] = {}
        self._bounds: dict[int, tuple[float, float, float, float]] = {}
        self._opened: dict[tuple[Mark, int], list[tuple[Key, Mark]]] = {}
        self._under: dict[tuple[Mark, int], tuple[int, ...] | None] = {}

    def layers(self, folds: int) -> tuple[Layer, ...]:
        """The faces of the state after the first ``folds`` folds."""
        if folds not in self._layers:
            faces = self.folded.states[folds].faces
            self._layers[folds] = tuple(Layer(f.moved, f.folded_xy, f.is_convex) for f in faces)
        return self._layers[folds]

    def bounds(self, folds: int) -> tuple[float, float, float, float]:
        """The bounds of the paper in a state: least x and y, greatest x and y."""
        if folds not in self._bounds:
            xy = np.concatenate([layer.xy for layer in self.layers(folds)])
            self._bounds[folds] = (*xy.min(axis=0).tolist(), *xy.max(axis=0).tolist())
        return self._bounds[folds]

    def opening(self, number: int) -> Opening:
        """What undoing fold ``number`` does."""
        if number not in self._openings:
            self._openings[number] = _opening(self.folded, number)
        return self._openings[number]

    def layers_under(self, mark: Mark, folds: int) -> tuple[int, ...] | None:
        """The layers that a hole goes through in a state: none off the paper; None when it lies across an edge."""
        if (mark, folds) not in self._under:
            self._under[mark, folds] = self._find_layers(mark, folds)
        return self._under[mark, folds]

    def _find_layers(self, mark: Mark, folds: int) -> tuple[int, ...] | None:
        found = set()
        for layer in self.layers(folds):
            taken = layer.takes(mark)
            if taken is None:
                return None
            if taken:
                found.add(layer.moved)
        return tuple(sorted(found))

    def settle(self, marks: Sequence[Mark], folds: int, *, drop: bool = False) -> tuple[Mark, ...] | None:
        """The marks with their layers known. None when one lies across an edge, or off the paper unless ``drop``."""
        settled = []
        for mark in marks:
            if mark.layers is None:
                layers = self.layers_under(mark, folds)
                if layers is None or not (layers or drop):
                    return None
                if not layers:
                    continue
                mark = mark._replace(layers=layers)
            settled.append(mark)
        return merged(settled)

    def open_all(self, marks: Sequence[Mark], folds: int) -> tuple[Mark, ...]:
        """The flat sheet's holes, every remaining fold opened rightly. What became of a hole is kept."""
        by_key: dict[Key, Mark] = {}
        for mark in marks:
            opened = self._opened.get((mark, folds))
            if opened is None:
                opened = self._opened[mark, folds] = [(m.key(), m) for m in self._open_one(mark, folds)]
            for key, flat in opened:
                by_key.setdefault(key, flat)
        return tuple(by_key.values())

    def _open_one(self, mark: Mark, folds: int) -> tuple[Mark, ...]:
        marks: tuple[Mark, ...] = (mark,)
        for number in range(folds, 0, -1):
            marks = self.opening(number).open(marks)
        return marks


def _opening(folded: Folded, number: int) -> Opening:
    crease = folded.creases[number - 1]
    a, b, c = crease.line
    length = (a * a + b * b) ** 0.5
    normal = complex(a / length, b / length)
    moved = [f for f in folded.states[number].faces if f.moved >> (number - 1) & 1]
    xy = np.concatenate([f.folded_xy for f in moved])
    heights = (a * xy[:, 0] + b * xy[:, 1] + c) / length
    on_crease = xy[np.abs(heights) < TOUCH] @ np.array([-normal.imag, normal.real])
    along = float(on_crease.min() + on_crease.max()) / 2
    foot = normal * (-c / length) + normal * 1j * along
    return Opening(number, isometry(crease.motion), normal, foot, float(-heights.min()))


def cut_of(punch: Punch) -> Cut:
    """A punch's cut, in the pose its shape is drawn in."""
    size = float(punch.size)
    if punch.shape == "outline":
        points = np.array([complex(x, y) for x, y in punch.points])
        if not shapely.LinearRing(np.column_stack([points.real, points.imag])).is_ccw:
            points = points[::-1]
        reach = 2 * float(np.abs(points).max())
        return Cut(f"outline {hash(punch.points)} {size}", "shape", (points * size,), reach * size)
    shape = SHAPES[punch.shape]
    outline = shape.outline[:, 0] + 1j * shape.outline[:, 1]
    mirror = unit(-2 * shape.axes[0]) if shape.axes else None
    return Cut(f"{shape.name} {size:.9f}", shape.label, (outline * size,), size, shape.rotations, mirror)


def punched(unfolding: Unfolding) -> tuple[Mark, ...]:
    """The holes of the fully folded paper as marks, each with the layers it goes through."""
    faces = unfolding.folded.states[-1].faces
    cuts = [cut_of(punch) for punch in unfolding.spec.punches]
    groups: dict[Key, tuple[Mark, set[int]]] = {}
    for piece in unfolding.pieces:
        mark = _mark_of(piece, faces[piece.face], unfolding.spec.punches[piece.punch], cuts[piece.punch])
        groups.setdefault(mark.key(), (mark, set()))[1].add(faces[piece.face].moved)
    return tuple(mark._replace(layers=tuple(sorted(moved))) for mark, moved in groups.values())


def _mark_of(piece: Piece, face: Face, punch: Punch, cut: Cut) -> Mark:
    """One layer's piece where the face lies now: the whole cut, or what the face's edges leave of it."""
    if piece.whole:
        at = complex(*map(float, punch.at))
        return Mark(cut, at, unit(float(punch.turn)))
    return fragment(shapely.transform(piece.region, face.motion.carry_xy), cut.label)


def fragment(region: shapely.Polygon, label: str) -> Mark:
    """A region of any form as a mark about its own centroid. Equal regions get equal names."""
    centre = complex(region.centroid.x, region.centroid.y)
    exterior = region.exterior if region.exterior.is_ccw else region.exterior.reverse()
    rings = [np.asarray(r.coords)[:-1] for r in (exterior, *region.interiors)]
    turned = tuple(r[:, 0] + 1j * r[:, 1] - centre for r in rings)
    reach = max(float(np.abs(r).max()) for r in turned)
    (xx, yy, xy) = _second_moments(turned[0])
    name = "piece " + " ".join(str(round(value * COARSE)) for value in (region.area, xx, yy, xy))
    return Mark(Cut(name, label, turned, 2 * reach, whole=False), centre)


def _second_moments(ring: np.ndarray) -> tuple[float, float, float]:
    """Of an anticlockwise ring: of one that runs the other way they would be negative."""
    p, q = ring, np.roll(ring, -1)
    cross = p.real * q.imag - q.real * p.imag
    xx = float((cross * (p.real**2 + p.real * q.real + q.real**2)).sum())
    yy = float((cross * (p.imag**2 + p.imag * q.imag + q.imag**2)).sum())
    xy = float((cross * (p.real * q.imag + 2 * p.real * p.imag + 2 * q.real * q.imag + q.real * p.imag)).sum())
    return xx, yy, xy
