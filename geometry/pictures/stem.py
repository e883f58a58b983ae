"""The stem of a question: one picture for each fold, then the folded sheet with its punched holes."""

from __future__ import annotations

from functools import lru_cache

import shapely

from geometry.pictures.areas import polygons_in
from geometry.pictures.arrows import draw_arrow, grip_of
from geometry.pictures.frame import Frame, frame_of
from geometry.pictures.layers import look_at, moved_region
from geometry.pictures.outlines import outline_path
from geometry.pictures.paper import lay_ghost, lay_line, lay_paper, points_of, stretches_on
from geometry.pictures.svg import Drawing, Picture
from geometry.pictures.theme import Style, style
from geometry.plane import to_xy
from geometry.spec import Fold, Sheet, Spec
from geometry.unfolding import Unfolding, unfold
from geometry.words import describe_fold, describe_punches


def draw_stem(unfolding: Unfolding, theme: str = "screen", *, size: str = "normal") -> tuple[Picture, ...]:
    """One picture per fold, each of the paper after it; last the folded and punched sheet."""
    spec, frame = unfolding.spec, question_frame(unfolding)
    folds = range(1, len(spec.folds) + 1)
    drawn = (_draw_fold(spec.sheet, spec.folds[:k], frame, theme, size) for k in folds)
    return (*drawn, draw_punched(unfolding, style(theme, size)))


def question_frame(unfolding: Unfolding) -> Frame:
    """The one frame of a question's pictures: the sheet's, widened by paper that reaches beyond it."""
    outlines = [shapely.get_coordinates(state.outline) for state in unfolding.folded.states]
    return frame_of(unfolding.spec.sheet).holding(*outlines)


def flat_sheet(unfolding: Unfolding) -> shapely.Polygon:
    return shapely.Polygon(to_xy(unfolding.spec.sheet.outline))


@lru_cache(maxsize=256)
def _draw_fold(sheet: Sheet, folds: tuple[Fold, ...], frame: Frame, theme: str, size: str) -> Picture:
    """The paper after the last of these folds. Kept: while a later fold or a punch is tried, the earlier ones stay."""
    unfolding, number = unfold(Spec(sheet, folds, ())), len(folds)
    look = style(theme, size)
    drawing = Drawing(frame, look)
    crease = unfolding.folded.creases[-1]
    moved = moved_region(unfolding, number)
    sight = look_at(unfolding, number, look.size, punched=False)
    lay_ghost(drawing, flat_sheet(unfolding), moved, now=sight.outline)
    lay_paper(drawing, sight, crease=stretches_on(points_of(crease), moved))
    lay_line(drawing, "valley" if crease.way == "over" else "mountain", points_of(crease), moved)
    draw_arrow(drawing, crease, grip_of(folds[-1], crease, moved), sight.outline)
    return drawing.picture(f"Fold {number}", describe_fold(unfolding, number))


def draw_punched(unfolding: Unfolding, look: Style) -> Picture:
    """The folded sheet with its holes."""
    drawing = Drawing(question_frame(unfolding), look)
    sight = look_at(unfolding, len(unfolding.folded.creases), look.size, punched=True)
    lay_ghost(drawing, flat_sheet(unfolding), now=sight.outline)
    lay_paper(drawing, sight)
    drawing.lay("hole", outline_path(drawing.frame, polygons_in(sight.dark)))
    return drawing.picture("Folded and punched", describe_punches(unfolding))
