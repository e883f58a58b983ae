"""Clipping: what the edges of layers leave of an outline that they run through, in the folded plane.

The layers on both sides of a crease have the same line there, so that line is looked at once, by the same numbers for
both, and layers inside the same lines get the same part of the outline.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isqrt
from typing import NamedTuple, TypeVar

import numpy as np

from geometry.cutting import split_at
from geometry.faces import Face, State
from geometry.plane import Line, Polygon, line_of, sides

T = TypeVar("T")

NEAR = 1e-11  # closer than this to a face's edge, in sheet widths, is on the edge

AT = 1e-10  # of a ring that was clipped: what lies no further over an edge lies at it

_SAME = 1e-12  # lines that differ by less are one
_NEARS = 10**22  # 1 / NEAR, squared
_FINE = 1 << 48  # outlines become exact on this grid where floats do not do


class Part(NamedTuple):
    """A part of an outline that some faces have in common.

    ``at`` are its vertices (complex, anticlockwise); ``seams`` say which of its edges, by the vertex each ends at, lie
    on an edge of the faces; ``whole`` is True for the whole outline, clear of all edges.
    """

    at: np.ndarray
    seams: tuple[int, ...]
    faces: list[int]
    whole: bool = False


class _Line(NamedTuple):
    """The line of the ``i``-th edge of a face where it lies now: a point z lies n . z + c inside.

    ``at`` tells how far inside the vertices of the outline lie.
    """

    normal: complex
    offset: float
    face: int
    i: int
    at: list[float]

    @property
    def other_side(self) -> _Line:
        return self._replace(normal=-self.normal, offset=-self.offset, at=[-depth for depth in self.at])

    def depth(self, z: complex) -> float:
        return self.normal.real * z.real + self.normal.imag * z.imag + self.offset


Sides = tuple[tuple[int, bool], ...]  # lines by their numbers, and whether their other side is meant


def parts_of(state: State, outline: np.ndarray, faces: Sequence[int]) -> Iterator[Part]:
    """What these convex faces have of an outline (N complex)."""
    lines: list[_Line] = []
    held: dict[Sides, list[int]] = {}
    for face, met in _sides_met(state, outline, faces, lines).items():
        held.setdefault(tuple(sorted(met)), []).append(face)
    ring = outline.tolist() if lines else []
    for bounds, having in held.items():
        if not bounds:
            yield Part(outline, (), having, whole=True)
            continue
        parts = _clipped(ring, [lines[n].other_side if other else lines[n] for n, other in bounds])
        for at, seams in _clipped_exactly(state, outline, bounds, lines) if parts is None else parts:
            yield Part(np.array(at), seams, having)


def _sides_met(
    state: State, outline: np.ndarray, faces: Sequence[int], lines: list[_Line]
) -> dict[int, list[tuple[int, bool]]]:
    """The faces under the outline, each with the lines of those of its edges that the outline meets."""
    edges = [(f, edge) for f in faces for edge in range(*state.corners.spans[f])]
    depths = state.depths(outline, [edge for _, edge in edges])
    clear = {edges[n][0] for n in (depths.max(axis=1) < NEAR).nonzero()[0].tolist()}
    met: dict[int, list[tuple[int, bool]]] = {f: [] for f in faces if f not in clear}
    near = (depths.min(axis=1) <= NEAR).nonzero()[0].tolist()
    normals, offsets = (part[[edges[n][1] for n in near]].tolist() for part in state.edges)
    for n, normal, offset in zip(near, normals, offsets, strict=True):
        f, edge = edges[n]
        if f not in clear:
            side = _known(normal, offset, lines)
            if side is None:
                side = len(lines), False
                lines.append(_Line(normal, offset, f, edge - state.corners.spans[f][0], depths[n].tolist()))
            met[f].append(side)
    return met


def _known(normal: complex, offset: float, lines: Sequence[_Line]) -> tuple[int, bool] | None:
    """The number of a line that is there, and True when its other side is meant."""
    for number, line in enumerate(lines):
        if abs(offset - line.offset) < _SAME and abs(normal - line.normal) < _SAME:
            return number, False
        if abs(offset + line.offset) < _SAME and abs(normal + line.normal) < _SAME:
            return number, True
    return None


def covering(state: State, ring: np.ndarray, faces: Sequence[int]) -> dict[int, bool]:
    """The faces (convex ones) that a ring (N complex) does not lie clear of: True for those that cover all of it."""
    bounds = [state.corners.spans[f] for f in faces]
    rows = [row for start, end in bounds for row in range(start, end)]
    depths = state.depths(ring, rows)
    starts = np.cumsum([0, *(end - start for start, end in bounds[:-1])])
    least = np.minimum.reduceat(depths.min(axis=1), starts)
    most = np.minimum.reduceat(depths.max(axis=1), starts)
    return {f: bool(low > -AT) for f, low, high in zip(faces, least, most, strict=True) if high > AT}


Marked = tuple[list[complex], tuple[int, ...]]  # a ring, and which of its edges are seams


def _clipped(ring: list[complex], lines: Sequence[_Line]) -> list[Marked] | None:
    """What of a ring lies inside lines; None when it crosses one of them more than twice, and may fall into parts."""
    marks = [0] * len(ring)  # bits of the lines that each vertex lies on
    depths = [line.at for line in lines]
    for n, at in enumerate(depths):
        bit = 1 << n
        if max(at) <= NEAR:
            return []
        if min(at) >= -NEAR:
            marks = [mark | bit if depth <= NEAR else mark for mark, depth in zip(marks, at, strict=True)]
            continue
        turns = [i for i in range(len(at)) if (at[i] > NEAR) != (at[i - 1] > NEAR)]
        if len(turns) > 2:
            return None
        first, last = turns if at[turns[0]] > NEAR else turns[::-1]
        (p, p_mark), (q, q_mark) = (_meeting(ring, marks, at, i) for i in (first, last))
        ring = [p, *_run(ring, first, last), q]
        marks = [p_mark | bit, *_run(marks, first, last), q_mark | bit]
        for later in range(n + 1, len(lines)):
            depth = lines[later].depth
            depths[later] = [depth(p), *_run(depths[later], first, last), depth(q)]
    return [(ring, tuple([i for i, mark in enumerate(marks) if marks[i - 1] & mark]))]


def _meeting(ring: list[complex], marks: list[int], at: list[float], i: int) -> tuple[complex, int]:
    """Where the edge that ends at a vertex meets the line to which the ring lies at ``at``, and its mark."""
    p, q, s, t = ring[i - 1], ring[i], at[i - 1], at[i]
    if abs(s) <= NEAR:
        return p, marks[i - 1]
    if abs(t) <= NEAR:
        return q, marks[i]
    return p + (q - p) * (s / (s - t)), marks[i - 1] & marks[i]


def _run(items: list[T], first: int, end: int) -> list[T]:
    """The items of a closed row from the first up to an end."""
    return items[first:end] if first < end else items[first:] + items[:end]


def _clipped_exactly(state: State, outline: np.ndarray, bounds: Sides, lines: Sequence[_Line]) -> Iterator[Marked]:
    """``_clipped`` for outlines that fall into several parts."""
    rings = [_fine(outline)]
    for number, other_side in bounds:
        a, b, c = _exact_line(state.faces[lines[number].face], lines[number].i)
        line = (-a, -b, -c) if other_side else (a, b, c)
        rings = [part for ring in rings for part in split_at(ring, _clear_sides(line, ring), line)[0]]
    for ring in rings:
        at = [complex(x / w, y / w) for x, y, w in ring]
        on = [[abs(lines[number].depth(z)) <= 2 * NEAR for z in at] for number, _ in bounds]
        yield at, tuple([i for i in range(len(at)) if any(line[i - 1] and line[i] for line in on)])


def _fine(outline: np.ndarray) -> Polygon:
    """The outline on a grid so fine that nobody can tell, as exact vertices."""
    whole = np.rint(outline.view(float) * _FINE).astype(np.int64).reshape(-1, 2)
    return tuple([(x, y, _FINE) for x, y in whole.tolist()])


def _exact_line(face: Face, i: int) -> Line:
    """The line of a face's edge where it lies now, positive inside, with the first 80 bits of its numbers."""
    p, q = (face.motion.carry(face.flat[j % len(face.flat)]) for j in (i, i + 1))
    a, b, c = line_of(q, p) if face.turned else line_of(p, q)
    extra = max(0, max(abs(a), abs(b)).bit_length() - 80)
    return a >> extra, b >> extra, c >> extra


def _clear_sides(line: Line, ring: Polygon) -> list[int]:
    """The sides of the ring's vertices, 0 for those closer than ``NEAR``: these count as on the line."""
    a, b, _ = line
    near = {w: isqrt((a * a + b * b) * w * w // _NEARS) for w in {w for _, _, w in ring}}
    return [0 if -near[v[2]] <= s <= near[v[2]] else s for s, v in zip(sides(line, ring), ring, strict=True)]
