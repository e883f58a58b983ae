"""The unfolding step by step: the folded and punched sheet, then every opening with its mirror line and new copies."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import Crease
from geometry.pictures.areas import common, joined, polygons_in, without
from geometry.pictures.frame import WIDTH
from geometry.pictures.layers import look_at, moved_region, turned_back
from geometry.pictures.outlines import line_path, lines_in, outline_path
from geometry.pictures.paper import lay_ghost, lay_line, lay_paper, points_of
from geometry.pictures.stem import draw_punched, flat_sheet, question_frame
from geometry.pictures.svg import Drawing, Picture
from geometry.pictures.theme import Style, style
from geometry.unfolding import Unfolding
from geometry.words import say_opening

SAME = 0.5  # a hole and its image are a pair when they share at least this part of their area


def draw_steps(unfolding: Unfolding, theme: str = "screen", *, size: str = "normal") -> tuple[Picture, ...]:
    """The folded and punched sheet, then one picture for each opening, the last fold first."""
    look = style(theme, size)
    openings = range(len(unfolding.folded.creases), 0, -1)
    return (draw_punched(unfolding, look), *(_draw_opening(unfolding, k, look) for k in openings))


def _draw_opening(unfolding: Unfolding, fold: int, look: Style) -> Picture:
    """The paper when fold ``fold`` has just been opened."""
    drawing = Drawing(question_frame(unfolding), look)
    crease = unfolding.folded.creases[fold - 1]
    opened = moved_region(unfolding, fold)
    sight = look_at(unfolding, fold - 1, look.size, punched=True)
    copies = polygons_in(common(sight.dark, opened))
    old = without(sight.dark, opened)
    lay_ghost(drawing, flat_sheet(unfolding), now=sight.outline)
    paper, pierced = turned_back(unfolding, fold, sight)
    lay_paper(drawing, sight, opened=paper)
    drawing.lay("new rim", outline_path(drawing.frame, polygons_in(pierced)))
    drawing.lay("hole", outline_path(drawing.frame, polygons_in(old)))
    drawing.lay("new", outline_path(drawing.frame, copies))
    lay_line(drawing, "mirror", points_of(crease), joined((opened, sight.outline)))
    if look.size.has_ties:
        _lay_ties(drawing, crease, copies, old)
    return drawing.picture(f"Opening fold {fold}", say_opening(unfolding, fold))


def _lay_ties(drawing: Drawing, crease: Crease, copies: list[shapely.Polygon], old: BaseGeometry) -> None:
    """A tie from each copy to what it mirrors; where nothing is left there, its old place dotted."""
    pairs, left = [], []
    for copy in copies:
        image = shapely.transform(copy, crease.motion.carry_xy)
        if common(image, old).area > SAME * copy.area:
            pairs.append((shapely.get_coordinates(image.centroid)[0], shapely.get_coordinates(copy.centroid)[0]))
        else:
            left.append(shapely.get_coordinates(image.exterior))
    drawing.lay("left", line_path(drawing.frame, left))
    lines = [line for pair in pairs for line in tie(*pair, mark=3.2 * drawing.style.size.unit / WIDTH)]
    clear = joined((old, *copies)).buffer(0.5 * drawing.style.size.unit / WIDTH)
    seen = [shapely.difference(shapely.LineString(line), clear) for line in lines]
    drawing.lay("tie", line_path(drawing.frame, [part for line in seen for part in lines_in(line)]))


def tie(start: np.ndarray, end: np.ndarray, *, mark: float) -> list[np.ndarray]:
    """The lines of a tie between mirror images: the way, a tick on either half and a right angle at the mirror."""
    way = end - start
    length = float(np.hypot(*way))
    if length < 3 * mark:
        return []
    along = way / length
    across = np.array([-along[1], along[0]])
    lines = [np.array([start, end])]
    for part in (0.25, 0.75):
        middle = start + part * way
        lines.append(np.array([middle - across * mark / 2, middle + across * mark / 2]))
    foot = start + way / 2
    corner = mark * 0.8
    lines.append(np.array([foot + along * corner, foot + along * corner + across * corner, foot + across * corner]))
    return lines
