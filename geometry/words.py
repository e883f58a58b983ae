"""Plain words for folds, punches and openings, as a teacher would say them to a ten-year-old.

What describes a question's pictures tells only what everybody can see in them. What is said of an opening
(``say_opening``) tells how the answer comes about, and belongs to the review.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import Crease
from geometry.shapes import SHAPES
from geometry.unfolding import Hole, Unfolding

NUMBERS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
CLOSE = 1e-6  # sheet widths


def number(n: int) -> str:
    """A number in words up to twelve, in figures beyond."""
    return NUMBERS[n] if n < len(NUMBERS) else str(n)


def count_holes(n: int) -> str:
    """``one hole``, ``six holes``."""
    return f"{number(n)} hole{'' if n == 1 else 's'}"


def listed(names: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def describe_crease(crease: Crease) -> str:
    """``an upright crease``, ``a level crease``, ``a diagonal crease rising to the right``, ``a slanting crease``."""
    a, b, _ = crease.line
    if b == 0:
        return "an upright crease"
    if a == 0:
        return "a level crease"
    if abs(a) == abs(b):
        return f"a diagonal crease {'falling' if (a > 0) == (b > 0) else 'rising'} to the right"
    return "a slanting crease"


def describe_fold(unfolding: Unfolding, fold: int) -> str:
    """One fold as its picture shows it: which part moves, which way, over which crease."""
    crease = unfolding.folded.creases[fold - 1]
    part = f"{_taken(crease)}{_part(unfolding, crease)}".capitalize()
    verb = "are" if crease.layers is not None and crease.layers > 1 else "is"
    way = _way(crease)
    if crease.way == "over":
        return f"{part} {verb} folded {way} over {describe_crease(crease)}."
    return f"{part} {verb} folded {way}, behind the rest, along {describe_crease(crease)}."


def describe_punches(unfolding: Unfolding) -> str:
    """The folded and punched sheet: which shapes, and where on the sheet's old square they lie."""
    places = [f"{with_article(_shape(unfolding, i))} {_place(unfolding, i)}" for i in range(len(unfolding.outlines))]
    if not places:
        return "The folded sheet, not punched."
    return f"The folded sheet is punched through with {listed(places)}."


def say_opening(unfolding: Unfolding, fold: int) -> str:
    """What happens to the holes when fold ``fold`` is opened, and how many there are then."""
    crease = unfolding.folded.creases[fold - 1]
    after = unfolding.holes(fold - 1)
    moved = [hole for hole in after if fold in hole.folds]
    across = [hole for hole in after if hole not in moved and _lies_across(unfolding, hole, crease)]
    if not moved and not across:
        return f"No hole lies on the paper that opens, so nothing changes. {_count(len(after), fold, 'still')}"
    copies = [hole for hole in moved if _has_partner(crease, hole, after)]
    carried = [hole for hole in moved if hole not in copies]
    told = [f"The crease is {_direction(crease)}."]
    if copies:
        way = "as far away on the other side" + _turned(unfolding, copies, crease)
        told.append(f"{_named(unfolding, copies)} {_is(copies)} mirrored in it, {way}.")
    if carried:
        goes = "goes over with its paper, and leaves" if len(carried) == 1 else "go over with their paper, and leave"
        told.append(f"{_named(unfolding, carried)} {goes} no copy behind.")
    if across:
        told.append(f"{_named(unfolding, across)} {_is(across)} opened out across it, the same on both sides.")
    return " ".join([*told, _count(len(after), fold, "now")])


def _count(holes: int, fold: int, when: str) -> str:
    if fold == 1:
        return f"The sheet lies flat again, with {count_holes(holes)}."
    return f"There {'is' if holes == 1 else 'are'} {when} {count_holes(holes)}."


def _taken(crease: Crease) -> str:
    if crease.layers is None:
        return ""
    if crease.layers == 1:
        return "the top layer of " if crease.way == "over" else "the back layer of "
    end = "top" if crease.way == "over" else "back"
    return f"the {end} {number(crease.layers)} layers of "


def _part(unfolding: Unfolding, crease: Crease) -> str:
    """``the left half``, ``the bottom left corner``: the paper on the moving side."""
    a, b, _ = crease.line
    across = "right" if a > 0 else "left"
    along = "top" if b > 0 else "bottom"
    outline = unfolding.folded.states[crease.number - 1].outline
    slanting = a != 0 and b != 0
    name = (slanting and _tip(unfolding, crease, outline)) or " ".join([along] * bool(b) + [across] * bool(a))
    part = "half" if _halves(crease, outline) else "edge" if a == 0 or b == 0 else "corner"
    return f"the {name} {part}"


def _tip(unfolding: Unfolding, crease: Crease, outline: BaseGeometry) -> str:
    """``bottom left``: where on the paper, as it lay, what moves reaches farthest from a slanting crease."""
    moved = [face for face in unfolding.folded.states[crease.number].faces if face.moved >> (crease.number - 1) & 1]
    xy = crease.motion.carry_xy(np.concatenate([face.folded_xy for face in moved]))
    reach = _heights(crease, xy)
    x, y = xy[reach > reach.max() - CLOSE].mean(axis=0)
    left, bottom, right, top = outline.bounds
    sides = (_side(y, bottom, top, ("bottom", "top")), _side(x, left, right, ("left", "right")))
    return " ".join(filter(None, sides))


def _side(value: float, low: float, high: float, names: tuple[str, str]) -> str:
    """The nearer of two sides by name; neither in the middle."""
    off = 2 * value - low - high
    return names[int(off > 0)] if abs(off) > CLOSE else ""


def _halves(crease: Crease, outline: BaseGeometry) -> bool:
    """True when as much paper shows on the one side of the crease as on the other."""
    reach = _reach(crease, outline)
    if abs(reach.max() + reach.min()) >= CLOSE:
        return False
    mirrored = shapely.transform(outline, crease.motion.carry_xy)
    return bool(shapely.symmetric_difference(outline, mirrored, grid_size=1e-9).area < CLOSE)


def _reach(crease: Crease, region: BaseGeometry) -> np.ndarray:
    """How far the region's vertices lie from the crease, positive on the side that moves."""
    return _heights(crease, shapely.get_coordinates(region))


def _heights(crease: Crease, xy: np.ndarray) -> np.ndarray:
    """How far points (N x 2) lie from the crease, positive on the side that moves."""
    a, b, c = (float(v) for v in crease.line)
    return (xy @ (a, b) + c) / np.hypot(a, b)


def _way(crease: Crease) -> str:
    """``to the right``, ``up``, ``down and to the left``: which way the moving paper goes."""
    a, b, _ = crease.line
    across = "" if a == 0 else "to the left" if a > 0 else "to the right"
    along = "" if b == 0 else "down" if b > 0 else "up"
    return " and ".join(word for word in (along, across) if word)


def _direction(crease: Crease) -> str:
    return (
        describe_crease(crease)
        .split(" ", 1)[1]
        .replace(" crease", "")
        .replace(" rising", ", rising")
        .replace(" falling", ", falling")
    )


def _shape(unfolding: Unfolding, punch: int | None) -> str:
    name = "outline" if punch is None else unfolding.spec.punches[punch].shape
    return "shape" if name == "outline" else SHAPES[name].label


def with_article(name: str) -> str:
    """A shape or sheet as one says it: "a heart", "an L-piece"."""
    return f"{'an' if name[0] in 'aeiouL' else 'a'} {name}"


def _place(unfolding: Unfolding, punch: int) -> str:
    """Where a punch lies on the sheet as it was: ninths of its bounds."""
    left, bottom, right, top = unfolding.folded.states[0].outline.bounds
    centre = unfolding.punches[punch].centroid
    across = ("left", "", "right")[_third(centre.x, left, right)]
    up = ("bottom", "", "top")[_third(centre.y, bottom, top)]
    where = f"{up} {across}".strip()
    return f"at the {where} of the sheet" if where else "in the middle of the sheet"


def _third(value: float, low: float, high: float) -> int:
    return min(2, max(0, int(3 * (value - low) / (high - low))))


def _has_partner(crease: Crease, hole: Hole, after: Iterable[Hole]) -> bool:
    """True when the mirror image of a hole lies in another hole."""
    inside = shapely.get_coordinates(hole.region.representative_point())
    image = shapely.Point(crease.motion.carry_xy(inside)[0])
    return any(other.region.covers(image) for other in after if other is not hole)


def _named(unfolding: Unfolding, holes: Sequence[Hole]) -> str:
    """``The heart``, ``Two discs and the arrow``."""
    counts = Counter(_shape(unfolding, hole.punch) for hole in holes)
    names = [f"the {name}" if n == 1 else f"{number(n)} {_plural(name)}" for name, n in sorted(counts.items())]
    text = listed(names)
    return text[0].upper() + text[1:]


def _is(holes: Sequence[Hole]) -> str:
    return "is" if len(holes) == 1 else "are"


def _plural(name: str) -> str:
    return f"{name}es" if name.endswith(("s", "x")) else f"{name}s"


def _turned(unfolding: Unfolding, holes: Sequence[Hole], crease: Crease) -> str:
    """Which way the copies turn over; a disc shows no turning, so nothing is said of it."""
    if all(_shape(unfolding, hole.punch) == "disc" for hole in holes):
        return ""
    a, b, _ = crease.line
    if b == 0:
        return ", and turned over from left to right"
    if a == 0:
        return ", and turned over from top to bottom"
    return f", and turned over across the {'diagonal' if abs(a) == abs(b) else 'slant'}"


def _lies_across(unfolding: Unfolding, hole: Hole, crease: Crease) -> bool:
    """True when a hole has a part on either side of the crease, on paper that this fold moved."""
    bit = 1 << (crease.number - 1)
    faces = unfolding.folded.states[-1].faces
    reach = _reach(crease, hole.region)
    return len({faces[i].moved & bit for i in hole.faces}) == 2 and reach.min() < -CLOSE < CLOSE < reach.max()
