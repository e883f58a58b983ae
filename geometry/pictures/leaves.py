"""Leaves: where layers lie flush, a second edge drawn a hair outside the first.

Where several ends of paper lie exactly on one another, a picture cut to what is visible would show a single line. A
stack of real paper shows its ends there, and one clean line where it is folded: two layers joined by a crease have one
end between them, not two. So the ends are counted along every visible edge, and where there are two or more, a leaf of
the layer beneath peeps out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import Face, State
from geometry.pictures.areas import joined, without
from geometry.plane import Line, Motion, Vertex, reduce_triple

NEAR = 1e-9  # sheet widths
SHARPEST = -0.8  # the cosine between two edges' normals beyond which their strips are not mitred
ASIDE = 2e-4  # how far beside an edge one looks to see what lies there


@dataclass(frozen=True)
class Leaf:
    """The strip of a lower layer that peeps out, and which side of it shows."""

    region: BaseGeometry
    turned: bool


@dataclass(frozen=True)
class _Edge:
    """A face's edge on some line: its stretch along it, and whether the paper lies to the left of the way up."""

    low: float
    high: float
    left: bool
    face: int
    raw: bool


@dataclass(frozen=True)
class _Stretch:
    """A piece of visible edge, paper to the left of the way from p to q, and whether its leaf shows the back."""

    p: tuple[float, float]
    q: tuple[float, float]
    turned: bool
    floor: int  # the highest face that goes on beyond the edge, -1 for none
    ply: Motion  # of the paper whose visible edge this is


def leaves_of(state: State, rim: BaseGeometry, width: float) -> list[Leaf]:
    """The leaves of a state of the paper, not punched: ``rim`` is the flat sheet's, ``width`` in sheet widths."""
    stretches = list(_stretches(state.faces, rim))
    above = _Above(state.faces)
    leaves = [
        Leaf(_strip(chain, width, above), turned)
        for turned in (False, True)
        for chain in _chains([s for s in stretches if s.turned == turned])
    ]
    return [leaf for leaf in leaves if not leaf.region.is_empty]


class _Above(dict[int, BaseGeometry]):
    """What covers the faces up to one, by its place: worked out once for each place that is asked for."""

    def __init__(self, faces: tuple[Face, ...]):
        self.papers = [shapely.Polygon(face.folded_xy) for face in faces]

    def __missing__(self, floor: int) -> BaseGeometry:
        self[floor] = covering = joined(self.papers[floor + 1 :])
        return covering


def _stretches(faces: tuple[Face, ...], rim: BaseGeometry) -> Iterator[_Stretch]:
    papers = np.array([shapely.Polygon(face.folded_xy) for face in faces])
    for line, edges in _edges_by_line(faces, rim).items():
        places = sorted({round(v, 10) for edge in edges for v in (edge.low, edge.high)})
        for low, high in pairwise(places):
            here = [e for e in edges if e.low < low + NEAR and e.high > high - NEAR]
            for left in (True, False):
                if len(here) > 1 and high - low > NEAR:
                    yield from _stretch(faces, papers, line, (low, high), here, left=left)


def _edges_by_line(faces: tuple[Face, ...], rim: BaseGeometry) -> dict[Line, list[_Edge]]:
    """Every edge of every face where it lies now, by the line it lies on."""
    lines: dict[Line, list[_Edge]] = defaultdict(list)
    for index, face in enumerate(faces):
        ring = face.folded
        flat = face.outline_xy[::-1] if face.turned else face.outline_xy
        middles = (flat + np.roll(flat, -1, axis=0)) / 2
        raw = shapely.distance(shapely.points(middles), rim) < NEAR
        for p, q, is_raw in zip(ring, ring[1:] + ring[:1], raw.tolist(), strict=True):
            line, forward = _line(p, q)
            low, high = sorted((_along(line, p), _along(line, q)))
            lines[line].append(_Edge(low, high, forward, index, is_raw))
    return lines


def _line(p: Vertex, q: Vertex) -> tuple[Line, bool]:
    """The line through two vertices, one for both ways; and whether the way from p to q is its own."""
    a, b, c = reduce_triple((p[1] * q[2] - q[1] * p[2], p[2] * q[0] - q[2] * p[0], p[0] * q[1] - q[0] * p[1]))
    return ((a, b, c), True) if (a, b, c) > (0, 0, 0) else ((-a, -b, -c), False)


def _direction(line: Line) -> np.ndarray:
    """The unit vector along a line; points with a positive value lie to its left."""
    a, b, _ = _as_floats(line)
    return np.array([b, -a]) / np.hypot(a, b)


def _as_floats(line: Line) -> tuple[float, float, float]:
    """The line in floats; its whole numbers may be too large for one, their ratios are not."""
    a, b, c = line
    most = max(abs(a), abs(b))
    return a / most, b / most, c / most


def _along(line: Line, v: Vertex) -> float:
    return float(_direction(line) @ (v[0] / v[2], v[1] / v[2]))


def _stretch(
    faces: tuple[Face, ...],
    papers: np.ndarray,
    line: Line,
    place: tuple[float, float],
    here: list[_Edge],
    *,
    left: bool,
) -> Iterator[_Stretch]:
    """The visible edge on one side of a line, if at least two ends of paper lie there."""
    beyond = {faces[e.face].motion for e in here if e.left != left}
    ends = [e for e in here if e.left == left and faces[e.face].motion not in beyond]
    if sum(1.0 if e.raw else 0.5 for e in ends) < 2:
        return
    way = _direction(line)
    across = np.array([-way[1], way[0]])
    foot = across * (across @ _any_point(line))
    low, high = (foot + way * v for v in place)
    outside = (low + high) / 2 + across * (-ASIDE if left else ASIDE)
    covering = np.flatnonzero(shapely.contains_xy(papers, *outside))
    floor = int(covering.max()) if len(covering) else -1
    ends = [e for e in ends if e.face > floor]
    second = _second_end(ends)
    if second is not None:
        p, q = (tuple(low.tolist()), tuple(high.tolist()))[:: 1 if left else -1]
        yield _Stretch(p, q, faces[second].turned, floor, faces[max(e.face for e in ends)].motion)


def _any_point(line: Line) -> np.ndarray:
    a, b, c = _as_floats(line)
    return np.array([-a * c, -b * c]) / (a * a + b * b)


def _second_end(ends: list[_Edge]) -> int | None:
    """The uppermost face of the second end from the top, if there is one; the two layers of a fold are one end."""
    weight = 0.0
    for edge in sorted(ends, key=lambda e: -e.face):
        if weight >= 1:
            return edge.face
        weight += 1.0 if edge.raw else 0.5
    return None


def _chains(stretches: Iterable[_Stretch]) -> list[list[_Stretch]]:
    """Stretches of one ply joined end to end."""
    ahead = {(s.ply, _key(s.p)): s for s in stretches}
    after = {(s.ply, _key(s.q)) for s in ahead.values()}
    chains = []
    while ahead:
        start = next((key for key in ahead if key not in after), next(iter(ahead)))
        chain = []
        while start in ahead:
            chain.append(ahead.pop(start))
            start = (chain[-1].ply, _key(chain[-1].q))
        chains.append(chain)
    return chains


def _key(p: tuple[float, float]) -> tuple[float, float]:
    return round(p[0], 8), round(p[1], 8)


def _strip(chain: list[_Stretch], width: float, above: _Above) -> BaseGeometry:
    """The strip to the right of a chain, mitred at its corners, clear of the paper above it."""
    ends = np.array([(s.p, s.q) for s in chain])
    way = ends[:, 1] - ends[:, 0]
    out = np.column_stack([way[:, 1], -way[:, 0]]) / np.hypot(*way.T)[:, None]
    at_p, at_q = out.copy(), out.copy()
    for i in range(len(chain) - 1):
        cosine = float(out[i] @ out[i + 1])
        if cosine > SHARPEST:
            at_q[i] = at_p[i + 1] = (out[i] + out[i + 1]) / (1 + cosine)
    corners = np.stack([ends[:, 0], ends[:, 1], ends[:, 1] + width * at_q, ends[:, 0] + width * at_p], axis=1)
    pieces = cast(np.ndarray, shapely.convex_hull(shapely.polygons(corners)))
    return without(joined(pieces), above[max(s.floor for s in chain)])
