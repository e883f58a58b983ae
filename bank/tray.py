"""The tray of creases: a side or a corner of the folded paper as it lies, and how far across it is folded.

A teacher says "the left edge, half across"; the spec keeps exact coordinates. Sides crease parallel to
themselves; a corner is brought towards the opposite corner, or folded on the slant at 45 degrees. Where paper has no
corner (a disc, a triangle) the part that reaches farthest that way stands for it, and "half" is half of the paper
there is: so every choice meets paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from geometry.folding import State
from geometry.plane import Point, point

PLACES = {
    "top-left": "top left corner",
    "top": "top edge",
    "top-right": "top right corner",
    "left": "left edge",
    "right": "right edge",
    "bottom-left": "bottom left corner",
    "bottom": "bottom edge",
    "bottom-right": "bottom right corner",
}
DEPTHS = {"1/2": "half", "1/3": "a third", "1/4": "a quarter", "slant": "at 45°"}
SLANT = "slant"
LONG = 10**60  # a spec's numbers are no longer; on a triangle or hexagon exact ones soon would be
GRAIN = 10**12  # to which those are rounded, far below the width of a line


@dataclass(frozen=True)
class Outline:
    """Exact vertices of the folded paper, and the box about them."""

    vertices: tuple[Point, ...]
    low: Point
    high: Point

    @classmethod
    def of(cls, state: State) -> Outline:
        vertices = tuple({point(v) for face in state.faces for v in face.folded})
        xs, ys = zip(*vertices, strict=True)
        return cls(vertices, (min(xs), min(ys)), (max(xs), max(ys)))

    @property
    def size(self) -> Point:
        return self.high[0] - self.low[0], self.high[1] - self.low[1]


def crease_from_tray(place: str, depth: str, outline: Outline) -> dict[str, Any]:
    """Return the fold's JSON (without way and layers) for a place of ``PLACES`` and a depth of ``DEPTHS``.

    Raises ``ValueError`` with a sentence where the two do not go together.
    """
    right, up = _toward(place, "left", "right"), _toward(place, "bottom", "top")
    if not (right and up):
        return _from_side(right, up, depth, outline)
    if depth == SLANT:
        return _on_the_slant(right, up, outline)
    return _from_corner((right * outline.size[0], up * outline.size[1]), Fraction(depth), outline)


def find_in_tray(fold: dict[str, Any], outline: Outline) -> tuple[str, str] | None:
    """Return the place and depth that give this fold's JSON exactly, or None where it must be typed."""
    named = {name: value for name, value in fold.items() if name in ("crease", "moves", "bring", "to")}
    for place in PLACES:
        for depth in DEPTHS:
            if not (depth == SLANT and "-" not in place) and crease_from_tray(place, depth, outline) == named:
                return place, depth
    return None


def _from_corner(way: Point, depth: Fraction, outline: Outline) -> dict[str, Any]:
    """``way`` goes from the opposite corner of the box about the paper to this one."""
    grip, reach = _farthest(way, outline)
    share = 2 * depth * reach / (way[0] ** 2 + way[1] ** 2)
    return {"bring": _written(grip), "to": _written((grip[0] - share * way[0], grip[1] - share * way[1]))}


def _on_the_slant(right: int, up: int, outline: Outline) -> dict[str, Any]:
    corner, leg = (_pick(right, outline, 0), _pick(up, outline, 1)), min(outline.size)
    if corner not in outline.vertices:
        return _from_corner((Fraction(right), Fraction(up)), Fraction(1, 2), outline)
    ends = (corner[0] - right * leg, corner[1]), (corner[0], corner[1] - up * leg)
    return {"crease": [_written(end) for end in ends], "moves": _written(corner)}


def _farthest(way: Point, outline: Outline) -> tuple[Point, Fraction]:
    """The middle of what reaches farthest that way; and how much farther, times the way's length, than the least."""
    heights = {v: v[0] * way[0] + v[1] * way[1] for v in outline.vertices}
    top = max(heights.values())
    rim = [v for v, height in heights.items() if height == top]
    (x0, y0), (x1, y1) = min(rim), max(rim)
    return ((x0 + x1) / 2, (y0 + y1) / 2), top - min(heights.values())


def _from_side(right: int, up: int, depth: str, outline: Outline) -> dict[str, Any]:
    if depth == SLANT:
        raise ValueError("A crease at 45° starts from a corner: choose a corner, or another depth.")
    along, towards = (1, up) if up else (0, right)
    rim = _pick(towards, outline, along)
    on_rim = [vertex[1 - along] for vertex in outline.vertices if vertex[along] == rim]
    crease = rim - towards * Fraction(depth) * outline.size[along]
    ends = [_placed(along, crease, end[1 - along]) for end in (outline.low, outline.high)]
    return {"crease": ends, "moves": _placed(along, rim, (min(on_rim) + max(on_rim)) / 2)}


def _toward(place: str, back: str, forward: str) -> int:
    """Return 1, -1 or 0 as the place lies forward, back or on neither side."""
    parts = place.split("-")
    return (forward in parts) - (back in parts)


def _pick(towards: int, outline: Outline, axis: int) -> Fraction:
    return outline.high[axis] if towards > 0 else outline.low[axis]


def _placed(axis: int, value: Fraction, other: Fraction) -> list[str]:
    return _written((other, value) if axis else (value, other))


def _written(p: Point) -> list[str]:
    return [str(v if max(abs(v.numerator), v.denominator) < LONG else v.limit_denominator(GRAIN)) for v in p]
