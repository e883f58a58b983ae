"""A question to try with real paper: the flat sheet with its fold lines and punch marks, and a guide for the punch.

The lines are seen from the printed side: a valley fold closes over them, a mountain fold goes behind. A punch is marked
on the sheet where the printed side of one whole layer lies on top; the guide, as large as the folded paper, marks all.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import GRID, Face
from geometry.pictures.areas import polygons_in
from geometry.pictures.frame import frame_of
from geometry.pictures.outlines import line_path, lines_in, outline_path
from geometry.pictures.stem import flat_sheet, question_frame
from geometry.pictures.svg import Drawing, Picture
from geometry.pictures.theme import style
from geometry.unfolding import Unfolding
from geometry.words import describe_punches, number


class FoldLine(NamedTuple):
    """A stretch of the crease of one fold on the flat sheet; ``line`` is N x 2 in sheet widths."""

    fold: int
    valley: bool
    line: np.ndarray


class Label(NamedTuple):
    """Where the number of a fold stands: shares of the picture's width and height, from the top left."""

    fold: int
    across: float
    down: float


class CutOut(NamedTuple):
    picture: Picture
    labels: tuple[Label, ...]


def draw_cut_out(unfolding: Unfolding, theme: str = "print", *, size: str = "large") -> CutOut:
    """The flat sheet to cut out, with its fold lines, each fold's number to be set at its longest stretch."""
    drawing = Drawing(frame_of(unfolding.spec.sheet), style(theme, size))
    drawing.lay("sheet", outline_path(drawing.frame, [flat_sheet(unfolding)]))
    lines = fold_lines(unfolding)
    for pen, valley in (("valley", True), ("mountain", False)):
        drawing.lay(pen, line_path(drawing.frame, [one.line for one in lines if one.valley == valley]))
    marks = marks_on_top(unfolding)
    drawing.lay("true", outline_path(drawing.frame, marks))
    folds = len(unfolding.spec.folds)
    says = f"A sheet to cut out, with the lines of {number(folds)} fold{'s' if folds != 1 else ''}"
    says += " and marks for the punch." if marks else "."
    return CutOut(drawing.picture("Cut-out", says), tuple(_labels(drawing, lines, folds)))


def draw_guide(unfolding: Unfolding, theme: str = "print", *, size: str = "large") -> Picture:
    """The folded paper's outline with the punches as rings, at the same scale as the cut-out."""
    drawing = Drawing(question_frame(unfolding), style(theme, size))
    drawing.lay("sheet", outline_path(drawing.frame, polygons_in(unfolding.folded.states[-1].outline)))
    drawing.lay("true", outline_path(drawing.frame, unfolding.punches))
    return drawing.picture("Guide", describe_punches(unfolding))


def fold_lines(unfolding: Unfolding) -> list[FoldLine]:
    """Where each fold creases the sheet: along the rim that a piece which moves shares with one that stays."""
    states = unfolding.folded.states
    found = []
    for crease, before, after in zip(unfolding.folded.creases, states, states[1:], strict=False):
        bit = 1 << (crease.number - 1)
        for index, face in enumerate(before.faces):
            parts = [part for part in after.faces if part.parent == index]
            moving = _rims([part for part in parts if part.moved & bit])
            staying = _rims([part for part in parts if not part.moved & bit])
            valley = (crease.way == "over") != face.turned
            shared = shapely.intersection(moving, staying, grid_size=GRID)
            found += [FoldLine(crease.number, valley, line) for line in lines_in(shared)]
    return found


def _rims(faces: list[Face]) -> BaseGeometry:
    return shapely.union_all([shapely.Polygon(face.outline_xy).boundary for face in faces], grid_size=GRID)


def marks_on_top(unfolding: Unfolding) -> list[shapely.Polygon]:
    """The punches on the flat sheet's printed side, of those that lie whole on one layer with that side on top."""
    faces = unfolding.folded.states[-1].faces
    papers = [shapely.Polygon(face.folded_xy) for face in faces]
    marks = []
    for punch in unfolding.punches:
        over = [i for i, paper in enumerate(papers) if paper.intersection(punch).area > 0]
        top = max(over, default=None)
        if top is not None and not faces[top].turned and papers[top].covers(punch):
            marks.append(shapely.transform(punch, faces[top].flatten))
    return marks


def _labels(drawing: Drawing, lines: list[FoldLine], folds: int) -> list[Label]:
    frame = drawing.frame
    longest = [
        max((one.line for one in lines if one.fold == fold), key=_length, default=None) for fold in range(1, folds + 1)
    ]
    placed = [(fold, frame.scale(_middle(line))[0]) for fold, line in enumerate(longest, 1) if line is not None]
    return [Label(fold, (x - frame.x) / frame.width, (y - frame.y) / frame.height) for fold, (x, y) in placed]


def _length(line: np.ndarray) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _middle(line: np.ndarray) -> np.ndarray:
    """A point of the line, off its middle, where creases are likely to cross: 1 x 2."""
    return shapely.get_coordinates(shapely.line_interpolate_point(shapely.LineString(line), 0.36, normalized=True))
