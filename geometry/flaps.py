"""Which parts move when only some layers are taken hold of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from geometry.cutting import overlap
from geometry.faces import Face
from geometry.plane import Line, Polygon, Vertex, covers, line_of, reduce_triple, side


@dataclass(frozen=True, eq=False)
class Part:
    """A piece of a face on the moving side of a crease; ``index`` is the face's place in the stack."""

    index: int
    face: Face
    piece: Polygon

    @cached_property
    def folded(self) -> Polygon:
        """Exact vertices where the piece lies before it moves, anticlockwise."""
        ring = tuple(self.face.motion.carry(v) for v in self.piece)
        return ring[::-1] if self.face.turned else ring


def flap_of(parts: list[Part], line: Line, grip: Vertex, layers: int, *, from_top: bool) -> list[Part] | None:
    """The parts that ``layers`` sheets at the grip pull along, in stack order; None when fewer lie there.

    ``parts`` are all the parts on the moving side, bottom to top. A part comes along when it is joined to one that
    moves by an edge that is not on the crease (else the paper would tear), or lies above one and over it (below it, for
    a fold behind; else paper would pass through paper).
    """
    ordered = parts[::-1] if from_top else parts
    under_grip = [p for p in ordered if covers(p.folded, grip)]
    if len(under_grip) < layers:
        return None
    joined = _joints(parts, line)
    taken: set[Part] = set()
    waiting = under_grip[:layers]
    while waiting:
        part = waiting.pop()
        if part in taken:
            continue
        taken.add(part)
        waiting += joined[part]
        waiting += [p for p in _outside(ordered, part) if p not in taken and overlap(p.folded, part.folded)]
    return [p for p in parts if p in taken]


def _outside(ordered: list[Part], part: Part) -> Iterator[Part]:
    """The parts that lie further out in the stack than ``part`` (``ordered`` runs from the outermost inwards)."""
    for other in ordered:
        if other.index == part.index:
            return
        yield other


def _joints(parts: list[Part], line: Line) -> dict[Part, list[Part]]:
    """Which parts share a piece of sheet edge that does not come to lie on the crease."""
    edges: dict[Line, list[tuple[Fraction, Fraction, Part]]] = defaultdict(list)
    for part in parts:
        crease = part.face.motion.pull_back(line)
        for p, q in zip(part.piece, part.piece[1:] + part.piece[:1], strict=True):
            if side(crease, p) or side(crease, q):
                key, low, high = _span(p, q)
                edges[key].append((low, high, part))
    joined: dict[Part, list[Part]] = defaultdict(list)
    for spans in edges.values():
        for low, high, part in spans:
            joined[part] += [other for a, b, other in spans if other is not part and a < high and low < b]
    return joined


def _span(p: Vertex, q: Vertex) -> tuple[Line, Fraction, Fraction]:
    """The line of an edge, the same for both its directions, and the stretch of it that the edge takes up."""
    line = reduce_triple(line_of(p, q))
    if line < (0, 0, 0):
        line = (-line[0], -line[1], -line[2])
    axis = 0 if line[1] else 1
    low, high = sorted((Fraction(p[axis], p[2]), Fraction(q[axis], q[2])))
    return line, low, high
