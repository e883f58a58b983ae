"""What the eye sees of folded paper: the visible part of every face, what shows through holes, and the edges.

Everything is cut by geometry, never hidden under something else, so a drawing holds nothing that cannot be seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import GRID, Face, fold_sheet
from geometry.pictures.areas import LEAST, NOTHING, common, joined, without
from geometry.pictures.frame import WIDTH
from geometry.pictures.leaves import Leaf, leaves_of
from geometry.pictures.theme import Size
from geometry.plane import Motion
from geometry.spec import Fold, Sheet
from geometry.unfolding import Unfolding

HAIR = 1e-6  # how far off a line still counts as on it


@dataclass(frozen=True)
class Layer:
    """The visible part of a face. ``place`` counts from the bottom of the stack, hidden faces included.

    ``shade`` is the strip of it that lies in the lee of the paper above.
    """

    place: int
    face: Face
    visible: BaseGeometry
    shade: BaseGeometry


@dataclass(frozen=True)
class Sight:
    """A state of the paper as seen from the front.

    ``layers`` run from bottom to top and only hold what is visible; ``dark`` is where one sees through all of the
    paper; ``outline`` is the paper's silhouette, holes filled.
    """

    layers: tuple[Layer, ...]
    dark: BaseGeometry
    outline: BaseGeometry
    leaves: tuple[Leaf, ...] = ()

    @property
    def edges(self) -> BaseGeometry:
        """Every visible edge of paper, as lines; the rims of dark holes are left to the holes."""
        rims = [region.boundary for region in self.sides().values()]
        lines = shapely.union_all(rims, grid_size=GRID)
        return lines if self.dark.is_empty else shapely.difference(lines, self.dark.buffer(HAIR))

    def sides(self) -> dict[Motion, BaseGeometry]:
        """The visible paper, faces that lie flat beside each other (cut by a crease, but not folded) joined."""
        groups: dict[Motion, list[BaseGeometry]] = {}
        for layer in self.layers:
            groups.setdefault(layer.face.motion, []).append(layer.visible)
        return {motion: joined(parts) for motion, parts in groups.items()}


def look_at(unfolding: Unfolding, folds: int, size: Size, *, punched: bool) -> Sight:
    """What is seen of the paper after its first ``folds`` folds, with its holes when ``punched``.

    ``size`` says how wide lees and leaves are.
    """
    lee, leaf = (weights * size.unit / WIDTH for weights in (size.lee, size.leaf))
    state = unfolding.folded.states[folds]
    holes = unfolding.face_holes(folds) if punched else [[] for _ in state.faces]
    # Of paper folded all the way every layer has the same holes, so that nothing but the mat is seen through them.
    through = joined(unfolding.punches) if punched and folds == len(unfolding.folded.creases) else NOTHING
    least = without(state.outline, through).area if not through.is_empty else state.outline.area
    above: BaseGeometry = NOTHING
    layers: list[Layer] = []
    for place, face in reversed(list(enumerate(state.faces))):
        if above.area > least - LEAST:
            break  # whatever lies beneath is covered
        paper: BaseGeometry = shapely.Polygon(face.folded_xy)
        if holes[place]:
            paper = without(paper, joined(region for _, region in holes[place]))
        visible = without(paper, above)
        if not visible.is_empty:
            layers.append(Layer(place, face, visible, _lee(visible, above, face, lee)))
        above = joined(part for part in (above, paper) if not part.is_empty)
    dark = without(state.outline, above) if punched else NOTHING
    leaves = _leaves(unfolding.spec.sheet, unfolding.spec.folds[:folds], leaf) if leaf else ()
    clear = leaves
    if not dark.is_empty:
        beside = dark.buffer(1.2 * leaf)
        clear = tuple(Leaf(without(one.region, beside), one.turned) for one in leaves)
    return Sight(tuple(reversed(layers)), dark, state.outline, clear)


@lru_cache(maxsize=256)
def _leaves(sheet: Sheet, folds: tuple[Fold, ...], width: float) -> tuple[Leaf, ...]:
    """The leaves after these folds. Kept: they are drawn twice, without holes and punched, and again for each punch."""
    states = fold_sheet(sheet, folds).states
    return tuple(leaves_of(states[-1], states[0].outline.boundary, width))


def moved_region(unfolding: Unfolding, fold: int) -> BaseGeometry:
    """Where the paper that fold ``fold`` moves lay before it, holes filled."""
    crease = unfolding.folded.creases[fold - 1]
    moved = [face for face in unfolding.folded.states[fold].faces if face.moved >> (fold - 1) & 1]
    before = [shapely.Polygon(crease.motion.carry_xy(face.folded_xy)) for face in moved]
    return joined(before)


def turned_back(unfolding: Unfolding, fold: int, sight: Sight) -> tuple[BaseGeometry, BaseGeometry]:
    """What opening a fold turned back, as seen now: its paper; and its holes through which paper beneath is seen."""
    region = moved_region(unfolding, fold)
    bit = 1 << (fold - 1)
    homes = {face.parent for face in unfolding.folded.states[fold].faces if face.moved & bit}
    paper = joined(layer.visible for layer in sight.layers if layer.place in homes)
    holes = unfolding.face_holes(fold - 1)
    through = [
        common(joined(hole for _, hole in holes[home]), joined(o.visible for o in sight.layers if o.place < home))
        for home in homes
        if holes[home]
    ]
    return common(paper, region), common(joined(through), region)


def _lee(visible: BaseGeometry, above: BaseGeometry, face: Face, width: float) -> BaseGeometry:
    """The strip of visible paper beside what lies on this face (paper merely beside it casts nothing)."""
    if not width or above.is_empty:
        return NOTHING
    upon = common(above, shapely.Polygon(face.folded_xy))
    return common(visible, upon.buffer(width, join_style="mitre"))
