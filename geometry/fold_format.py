"""Export to FOLD, the open file format for origami (version 1.2, github.com/edemaine/fold).

The key frame is the crease pattern of the flat sheet: vertices, edges with their assignment (M, V, B, F), faces. Each
further frame is the folded form after one more fold, with the order of its layers. FOLD cannot say "punched hole" or
"fold these layers only", so the question's own spec travels along in one custom field, and reading goes by it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from geometry.cutting import overlap
from geometry.errors import SpecError
from geometry.folding import Face, Folded
from geometry.plane import Line, Motion, Polygon, Vertex, reduce_triple
from geometry.spec import Spec, read_spec

SPEC_FIELD = "cm:spec"
ANGLES = {"V": 180, "M": -180, "F": 0, "B": 0}
FLAT = ["2D", "manifold", "orientable", "nonSelfIntersecting"]
FOLDED = ["2D", "manifold", "orientable", "selfTouching"]

Edge = tuple[int, int]


def write_fold(spec: Spec, folded: Folded, title: str = "") -> dict[str, Any]:
    """The FOLD file, as a dict for JSON: the crease pattern, then the folded form after each fold."""
    mesh = mesh_of(folded)
    last = len(folded.creases)
    shape = "convexFaces" if all(face.is_convex for face in mesh.faces) else "nonConvexFaces"
    named = {"file_title": title} if title else {}
    return {
        "file_spec": 1.2,
        "file_creator": "Creasemark",
        **named,
        "file_classes": ["singleModel", "diagrams"],
        "frame_title": "Crease pattern",
        "frame_classes": ["creasePattern"],
        "frame_attributes": [*FLAT, shape],
        "frame_unit": "unit",
        "vertices_coords": [_floats(v) for v in mesh.vertices],
        "edges_vertices": [list(edge) for edge in mesh.edges],
        "edges_faces": [list(sides) for sides in mesh.edges.values()],
        **_assignments(mesh, last),
        "faces_vertices": mesh.rings,
        SPEC_FIELD: spec.to_json(),
        "file_frames": [_folded_form(mesh, k, shape) for k in range(1, last + 1)],
    }


def read_fold(data: Any) -> Spec:
    """The spec in a FOLD file that ``write_fold`` wrote. Raises ``SpecError`` for any other."""
    if not isinstance(data, dict) or "file_spec" not in data:
        raise SpecError("This is not a FOLD file: it has no file_spec.")
    if SPEC_FIELD not in data:
        raise SpecError("This FOLD file does not say in which order it is folded and where it is punched.")
    return read_spec(data[SPEC_FIELD])


@dataclass(frozen=True)
class Mesh:
    """The faces of the last state as a mesh on the flat sheet: every vertex on an edge is an end of edges.

    ``rings`` are vertex numbers of each face, anticlockwise. ``edges`` maps an edge, as the pair of its ends, to the
    faces on its left and on its right (None beyond the rim).
    """

    folded: Folded
    vertices: tuple[Vertex, ...]
    rings: list[list[int]]

    @property
    def faces(self) -> tuple[Face, ...]:
        return self.folded.states[-1].faces

    @cached_property
    def edges(self) -> dict[Edge, tuple[int | None, int | None]]:
        left = {(u, v): face for face, ring in enumerate(self.rings) for u, v in _pairs(ring)}
        forward = [(u, v) for u, v in left if u < v or (v, u) not in left]
        return {(u, v): (left[u, v], left.get((v, u))) for u, v in sorted(forward)}

    def homes(self, folds: int) -> list[int]:
        """For each face, the place in the stack of the paper it belonged to after ``folds`` folds."""
        homes = list(range(len(self.faces)))
        for state in reversed(self.folded.states[folds + 1 :]):
            homes = [state.faces[home].parent for home in homes]
        return homes

    def motions(self, folds: int) -> list[Motion]:
        return [self.folded.motion_after(folds, face) for face in self.faces]


def mesh_of(folded: Folded) -> Mesh:
    """The mesh of the last state's faces, exact."""
    rings = [_reduced(face.flat) for face in folded.states[-1].faces]
    on_line: dict[Line, set[Vertex]] = defaultdict(set)
    for ring in rings:
        for p, q in _pairs(ring):
            on_line[_line(p, q)].update((p, q))
    whole = [[v for p, q in _pairs(ring) for v in (p, *_between(p, q, on_line[_line(p, q)]))] for ring in rings]
    number: dict[Vertex, int] = {}
    for ring in whole:
        for v in ring:
            number.setdefault(v, len(number))
    return Mesh(folded, tuple(number), [[number[v] for v in ring] for ring in whole])


def _pairs(ring: Sequence[Any]) -> Iterator[tuple[Any, Any]]:
    return zip(ring, [*ring[1:], ring[0]], strict=True)


def _reduced(polygon: Polygon) -> list[Vertex]:
    return [reduce_triple(v) for v in polygon]


def _line(p: Vertex, q: Vertex) -> Line:
    """The line through two vertices, the same both ways."""
    a, b, c = reduce_triple((p[1] * q[2] - q[1] * p[2], p[2] * q[0] - q[2] * p[0], p[0] * q[1] - q[0] * p[1]))
    return max((a, b, c), (-a, -b, -c))


def _between(p: Vertex, q: Vertex, candidates: set[Vertex]) -> list[Vertex]:
    """Those of the vertices (all on the line pq) that lie strictly between p and q, in order from p."""

    def place(v: Vertex) -> tuple[Fraction, Fraction]:
        return Fraction(v[0], v[2]), Fraction(v[1], v[2])

    low, high = sorted((place(p), place(q)))
    inside = sorted((v for v in candidates if low < place(v) < high), key=place)
    return inside if place(p) < place(q) else inside[::-1]


def _floats(v: Vertex) -> list[float]:
    return [v[0] / v[2], v[1] / v[2]]


def _assignments(mesh: Mesh, folds: int) -> dict[str, list[Any]]:
    """How each edge is folded after ``folds`` folds, seen from the front of the flat sheet."""
    homes, motions = mesh.homes(folds), mesh.motions(folds)
    letters = [_letter(left, right, homes, motions) for left, right in mesh.edges.values()]
    return {"edges_assignment": letters, "edges_foldAngle": [ANGLES[letter] for letter in letters]}


def _letter(left: int | None, right: int | None, homes: list[int], motions: list[Motion]) -> str:
    """B on the rim; F where the paper lies flat; V where the turned side's paper lies on top, M where beneath."""
    if left is None or right is None:
        return "B"
    if motions[left] == motions[right]:
        return "F"
    turned, other = (left, right) if motions[left].turns_over else (right, left)
    return "V" if homes[turned] > homes[other] else "M"


def _folded_form(mesh: Mesh, folds: int, shape: str) -> dict[str, Any]:
    motions = mesh.motions(folds)
    face_at = {v: face for face, ring in enumerate(mesh.rings) for v in ring}
    return {
        "frame_title": f"After fold {folds}",
        "frame_classes": ["foldedForm"],
        "frame_attributes": [*FOLDED, shape],
        "frame_parent": 0,
        "frame_inherit": True,
        "vertices_coords": [_floats(motions[face_at[i]].carry(v)) for i, v in enumerate(mesh.vertices)],
        **_assignments(mesh, folds),
        "faceOrders": list(_face_orders(mesh, folds)),
    }


def _face_orders(mesh: Mesh, folds: int) -> Iterator[list[int]]:
    """[f, g, s] for every two faces that overlap: s is 1 when f lies on the side of g that g's front faces."""
    homes, motions = mesh.homes(folds), mesh.motions(folds)
    lying = [_lying(face.flat, motion) for face, motion in zip(mesh.faces, motions, strict=True)]
    for g in range(len(lying)):
        for f in range(g + 1, len(lying)):
            if homes[f] != homes[g] and overlap(lying[f], lying[g]):
                above = homes[f] > homes[g]
                yield [f, g, 1 if above != motions[g].turns_over else -1]


def _lying(flat: Polygon, motion: Motion) -> Polygon:
    ring = tuple(motion.carry(v) for v in flat)
    return ring[::-1] if motion.turns_over else ring
