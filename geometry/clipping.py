"""Clipping: what the edges of layers leave of an outline that they run through, in the folded plane.

The layers on both sides of a crease have the same line there, so that line is looked at once, by the same numbers for
both, and layers inside the same lines get the same part of the outline.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isqrt
from typing import NamedTuple

import numpy as np

from geometry.cutting import split_at
from geometry.faces import Face, State
from geometry.plane import Line, Polygon, line_of, sides

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


class _Edge(NamedTuple):
    """The line of the ``i``-th edge of a face where it lies now: a point z lies n . z + c inside."""

    normal: complex
    offset: float
    face: int
    i: int


Sides = tuple[tuple[int, bool], ...]  # lines by their numbers, and whether their other side is meant


def parts_of(state: State, outline: np.ndarray, faces: Sequence[int]) -> Iterator[Part]:
    """What these convex faces have of an outline (N complex)."""
    lines: list[_Edge] = []
    held: dict[Sides, list[int]] = {}
    for face, edges in _edges_met(state, outline, faces):
        held.setdefault(tuple(sorted(_number(edge, lines) for edge in edges)), []).append(face)
    ring = outline.tolist() if any(held) else []
    for bounds, having in held.items():
        if not bounds:
            yield Part(outline, (), having, whole=True)
            continue
        parts = _clipped(ring, bounds, lines)
        for at, seams in _clipped_exactly(state, outline, bounds, lines) if parts is None else parts:
            yield Part(np.array(at), seams, having)


def _edges_met(state: State, outline: np.ndarray, faces: Sequence[int]) -> Iterator[tuple[int, list[_Edge]]]:
    """The faces under the outline, each with those of its edges that the outline meets."""
    normals, offsets = state.edges
    bounds = list(zip(state.corners.starts[faces].tolist(), state.corners.ends[faces].tolist(), strict=True))
    rows = [row for start, end in bounds for row in range(start, end)]
    depths = (normals[rows].conj()[:, None] * outline).real + offsets[rows, None]
    least, most = iter(depths.min(axis=1).tolist()), iter(depths.max(axis=1).tolist())
    for face, (start, end) in zip(faces, bounds, strict=True):
        met = []
        clear = False
        for row in range(start, end):
            low, high = next(least), next(most)
            clear |= high < NEAR
            if low <= NEAR:
                met.append(_Edge(complex(normals[row]), float(offsets[row]), face, row - start))
        if not clear:
            yield face, met


def covering(state: State, ring: np.ndarray, faces: Sequence[int]) -> dict[int, bool]:
    """The faces (convex ones) that a ring (N complex) does not lie clear of: True for those that cover all of it."""
    normals, offsets = state.edges
    bounds = [(state.corners.starts[f], state.corners.ends[f]) for f in faces]
    rows = [row for start, end in bounds for row in range(start, end)]
    depths = (normals[rows].conj()[:, None] * ring).real + offsets[rows, None]
    starts = np.cumsum([0, *(end - start for start, end in bounds[:-1])])
    least = np.minimum.reduceat(depths.min(axis=1), starts)
    most = np.minimum.reduceat(depths.max(axis=1), starts)
    return {f: bool(low > -AT) for f, low, high in zip(faces, least, most, strict=True) if high > AT}


def _number(edge: _Edge, lines: list[_Edge]) -> tuple[int, bool]:
    """The number of the edge's line, and True when the edge has its other side."""
    n, c, *_ = edge
    for number, line in enumerate(lines):
        if abs(n - line.normal) < _SAME and abs(c - line.offset) < _SAME:
            return number, False
        if abs(n + line.normal) < _SAME and abs(c + line.offset) < _SAME:
            return number, True
    lines.append(edge)
    return len(lines) - 1, False


Marked = tuple[list[complex], tuple[int, ...]]  # a ring, and which of its edges are seams


def _clipped(ring: list[complex], bounds: Sides, lines: Sequence[_Edge]) -> list[Marked] | None:
    """What of a ring lies inside lines; None when it meets one of them more than twice, and may fall into parts."""
    marks = [0] * len(ring)  # bits of the lines that each vertex lies on
    for number, other_side in bounds:
        at = _depths(ring, lines[number], other_side=other_side)
        if max(at) <= 0:
            return []
        clipped = _cut(ring, marks, at, 1 << number)
        if clipped is None:
            return None
        ring, marks = clipped
    return [(ring, tuple([i for i, mark in enumerate(marks) if marks[i - 1] & mark]))]


def _depths(ring: Sequence[complex], line: _Edge, *, other_side: bool) -> list[float]:
    """How far inside a line the vertices lie, 0 for those that count as on it."""
    n, c = (-line.normal, -line.offset) if other_side else (line.normal, line.offset)
    n = n.conjugate()
    depths = [(n * z).real + c for z in ring]
    return [0.0 if -NEAR <= depth <= NEAR else depth for depth in depths]


def _cut(ring: list[complex], marks: list[int], at: list[float], bit: int) -> tuple[list[complex], list[int]] | None:
    """The ring's part where ``at`` is positive; None when it meets the line (where ``at`` is 0) more than twice."""
    inside: list[complex] = []
    marked: list[int] = []
    meetings = 0
    p, s, p_mark = ring[-1], at[-1], marks[-1]
    for q, t, q_mark in zip(ring, at, marks, strict=True):
        if s * t < 0:
            inside.append(p + (q - p) * (s / (s - t)))
            marked.append(p_mark & q_mark | bit)
            meetings += 1
        if t > 0:
            inside.append(q)
            marked.append(q_mark)
        elif t == 0:
            inside.append(q)
            marked.append(q_mark | bit)
            meetings += 1
        p, s, p_mark = q, t, q_mark
    return (inside, marked) if meetings <= 2 or min(at) >= 0 else None


def _clipped_exactly(state: State, outline: np.ndarray, bounds: Sides, lines: Sequence[_Edge]) -> Iterator[Marked]:
    """``_clipped`` for outlines that fall into several parts."""
    rings = [_fine(outline)]
    for number, other_side in bounds:
        a, b, c = _exact_line(state.faces[lines[number].face], lines[number].i)
        line = (-a, -b, -c) if other_side else (a, b, c)
        rings = [part for ring in rings for part in split_at(ring, _clear_sides(line, ring), line)[0]]
    for ring in rings:
        at = [complex(x / w, y / w) for x, y, w in ring]
        on = [[abs(d) <= 2 * NEAR for d in _depths(at, lines[number], other_side=False)] for number, _ in bounds]
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
