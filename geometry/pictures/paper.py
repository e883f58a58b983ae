"""Laying paper down: the visible layers with their tints, lee strips and edges, and where paper was before."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import GRID, Crease
from geometry.pictures.areas import NOTHING, common, joined, polygons_in, without
from geometry.pictures.frame import WIDTH
from geometry.pictures.layers import HAIR, Sight
from geometry.pictures.outlines import line_path, lines_in, outline_path
from geometry.pictures.screens import dot_rows
from geometry.pictures.svg import Drawing

OVERSHOOT = 0.045  # how far a crease runs past the paper, in sheet widths


def lay_ghost(drawing: Drawing, *regions: BaseGeometry, now: BaseGeometry) -> None:
    """Dotted outlines of where paper was, wherever paper is not ``now``."""
    lines = shapely.union_all([region.boundary for region in regions], grid_size=GRID)
    drawing.lay("was", line_path(drawing.frame, lines_in(shapely.difference(lines, now.buffer(HAIR)))))


def lay_paper(
    drawing: Drawing, sight: Sight, *, opened: BaseGeometry | None = None, crease: BaseGeometry | None = None
) -> None:
    """The visible paper, front and turned side, and its edges.

    ``opened`` is the visible paper that has just been turned back, in a paler tint. Along ``crease`` (a line) no edge
    is drawn: the fold mark stands there.
    """
    for side in ("front", "turned"):
        layers = [layer for layer in sight.layers if layer.face.turned == (side == "turned")]
        seen = joined(layer.visible for layer in layers)
        drawing.lay(side, outline_path(drawing.frame, polygons_in(seen)))
        if drawing.style.theme.screened:  # tints are left out, and front and turned side are equally white
            drawing.lay("screen", dot_rows(drawing, seen) if side == "turned" else "")
            continue
        if opened is not None:
            new = common(seen, opened)
            drawing.lay(f"{side} opened", outline_path(drawing.frame, polygons_in(new)))
        shade = joined(layer.shade for layer in layers)
        drawing.lay(f"{side} shade", outline_path(drawing.frame, polygons_in(shade)))
    beside = NOTHING if crease is None else _beside(crease, drawing)
    for leaf in sight.leaves:
        region = without(leaf.region, beside)
        drawing.lay("leaf turned" if leaf.turned else "leaf front", outline_path(drawing.frame, polygons_in(region)))
    edges = sight.edges
    if crease is not None:
        edges = shapely.difference(edges, crease.buffer(HAIR))
    drawing.lay("edge", line_path(drawing.frame, lines_in(edges)))


def _beside(crease: BaseGeometry, drawing: Drawing) -> BaseGeometry:
    """The strip along a crease that its mark needs to itself."""
    return crease.buffer(2 * drawing.style.size.unit / WIDTH, cap_style="flat")


def points_of(crease: Crease) -> np.ndarray:
    """Two points of the crease's line, 2 x 2 in sheet widths."""
    return np.array([[float(c) for c in p] for p in (crease.a, crease.b)])


def stretches_on(line: np.ndarray, paper: BaseGeometry) -> BaseGeometry:
    """The stretches of a line (given by two points) that cross the paper, or run along its rim."""
    way = _direction(line)
    reach = np.abs(shapely.get_coordinates(paper) - line[0]).max() * 3 + 1
    whole = shapely.LineString([line[0] - way * reach, line[0] + way * reach])
    return shapely.intersection(whole, paper.buffer(HAIR, join_style="mitre"))


def lay_line(drawing: Drawing, pen: str, line: np.ndarray, paper: BaseGeometry) -> None:
    """The line through two points, over the paper and a little past it at both ends."""
    ends = shapely.get_coordinates(stretches_on(line, paper))
    if len(ends) < 2:
        return
    way = _direction(line)
    along = (ends - line[0]) @ way
    reach = np.array([[along.min() - OVERSHOOT], [along.max() + OVERSHOOT]])
    drawing.lay(pen, line_path(drawing.frame, [line[0] + reach * way]))


def _direction(line: np.ndarray) -> np.ndarray:
    way = line[1] - line[0]
    return way / np.hypot(*way)
