"""A wrong option, marked: the first wrong copy ringed, its true place dotted, the mirror line it should have obeyed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import shapely

from geometry.pictures.areas import common
from geometry.pictures.frame import WIDTH, frame_of
from geometry.pictures.option import sheet_path
from geometry.pictures.outlines import line_path, outline_path
from geometry.pictures.paper import lay_line, points_of
from geometry.pictures.stem import flat_sheet
from geometry.pictures.svg import Drawing, Picture
from geometry.pictures.theme import style
from geometry.unfolding import Hole, Unfolding
from geometry.words import count_holes

ROOM = 0.03  # sheet widths between a ringed hole and its ring
ALIKE = 1e-3  # two holes are the same when their outlines differ by less than this part of their area


class Mistaken(Protocol):
    """What is read of a mistake: made on opening a fold, or ``before`` that; and the line taken for its crease."""

    @property
    def fold(self) -> int: ...

    @property
    def before(self) -> bool: ...

    @property
    def line(self) -> tuple[tuple[float, float], tuple[float, float]] | None: ...


class Marked(Protocol):
    """What is read of an option: its label, the holes it shows, and its mistakes (none: the key)."""

    @property
    def label(self) -> str: ...

    @property
    def holes(self) -> tuple[shapely.Polygon, ...]: ...

    @property
    def mistakes(self) -> Sequence[Mistaken]: ...


@dataclass(frozen=True)
class Fault:
    """The hole to ring (None when one is missing) and the true hole in its stead (None when one is too many)."""

    wrong: shapely.Polygon | None
    true: shapely.Polygon | None


def draw_marked_option(unfolding: Unfolding, option: Marked, theme: str = "screen", *, size: str = "normal") -> Picture:
    """The option with its first wrong copy marked; the key as it is."""
    drawing = Drawing(frame_of(unfolding.spec.sheet), style(theme, size))
    mistake = first_of(option.mistakes)
    fault = find_fault(unfolding, option)
    right = [hole for hole in option.holes if fault is None or hole is not fault.wrong]
    drawing.lay("sheet", sheet_path(unfolding.spec.sheet))
    drawing.lay("hole", outline_path(drawing.frame, right))
    says = f"Option {option.label}, a sheet of paper with {count_holes(len(option.holes))}. "
    if fault is None:
        return drawing.picture(f"Option {option.label}, right", says + "Every hole is in its place.")
    if mistake is not None:
        _lay_mirrors(drawing, unfolding, mistake)
    _lay_fault(drawing, fault)
    return drawing.picture(f"Option {option.label}, marked", f"{says}It goes wrong{_when(mistake)}: {_told(fault)}")


def first_of(mistakes: Sequence[Mistaken]) -> Mistaken | None:
    """The mistake made first: before an opening comes before on opening, and openings run from the last fold down."""
    return min(mistakes, key=lambda m: (-m.fold, not m.before), default=None)


def _lay_mirrors(drawing: Drawing, unfolding: Unfolding, mistake: Mistaken) -> None:
    """The crease that should have been mirrored in, where it lies on the flat sheet; and the line taken for it."""
    if mistake.before:
        return
    paper = common(unfolding.folded.states[mistake.fold - 1].outline, flat_sheet(unfolding))
    lay_line(drawing, "mirror", points_of(unfolding.folded.creases[mistake.fold - 1]), paper)
    if mistake.line is not None:
        lay_line(drawing, "wrong mirror", np.array(mistake.line), paper)


def _when(mistake: Mistaken | None) -> str:
    if mistake is None:
        return ""
    return f" before fold {mistake.fold} opens" if mistake.before else f" when fold {mistake.fold} opens"


def _lay_fault(drawing: Drawing, fault: Fault) -> None:
    if fault.wrong is not None:
        drawing.lay("wrong", outline_path(drawing.frame, [fault.wrong]))
    if fault.true is not None:
        drawing.lay("true", line_path(drawing.frame, [shapely.get_coordinates(fault.true.exterior)]))
    ringed = fault.wrong if fault.wrong is not None else fault.true
    assert ringed is not None  # a fault shows at least one of the two
    centre = shapely.get_coordinates(shapely.minimum_bounding_circle(ringed).centroid)[0]
    radius = float(shapely.minimum_bounding_radius(ringed)) + min(3 * drawing.style.size.unit / WIDTH, ROOM)
    drawing.lay("ring", pencil_ring(drawing, centre, radius))


def _told(fault: Fault) -> str:
    if fault.true is None:
        return "the ringed hole should not be there."
    if fault.wrong is None:
        return "a hole is missing at the ringed place."
    return "the ringed hole belongs where the dotted outline is."


def find_fault(unfolding: Unfolding, option: Marked) -> Fault | None:
    """The difference that the first wrong opening made; None when the option shows the sheet unfolded."""
    true = list(unfolding.holes())
    wrong = [hole for hole in option.holes if not any(_alike(hole, t.region) for t in true)]
    missing = [t for t in true if not any(_alike(hole, t.region) for hole in option.holes)]
    if not wrong and not missing:
        return None
    ours = _made_by(missing, first_of(option.mistakes)) or missing
    if not ours:
        return Fault(wrong[0], None)
    if not wrong:
        return Fault(None, ours[0].region)
    pairs = [(_gap(w, t), i, j) for i, w in enumerate(wrong) for j, t in enumerate(ours)]
    _, i, j = min(pairs)
    return Fault(wrong[i], ours[j].region)


def _made_by(holes: Sequence[Hole], mistake: Mistaken | None) -> list[Hole]:
    """The holes that the mistaken opening made and no later one copied; before any opening, the punch's own."""
    if mistake is None:
        return []
    made = () if mistake.before else (mistake.fold,)
    return [hole for hole in holes if hole.folds[:1] == made]


def _alike(a: shapely.Polygon, b: shapely.Polygon) -> bool:
    if abs(a.area - b.area) > ALIKE * b.area or shapely.distance(a.centroid, b.centroid) > 1e-3:
        return False
    return bool(shapely.symmetric_difference(a, b, grid_size=1e-9).area < ALIKE * b.area)


def _gap(wrong: shapely.Polygon, true: Hole) -> float:
    """How far a wrong hole is from being this one: the distance, with unlike sizes far apart."""
    unlike = abs(wrong.area - true.region.area) / max(wrong.area, true.region.area)
    return float(shapely.distance(wrong.centroid, true.region.centroid)) + unlike


def pencil_ring(drawing: Drawing, centre: np.ndarray, radius: float) -> str:
    """A ring as drawn by hand: a little uneven, its ends crossing. A person made this mark, not the ruler."""
    turn = np.linspace(-2.2, -2.2 + 2 * np.pi * 1.06, 25)
    reach = radius * (1.06 + 0.03 * np.sin(2 * turn + 0.6) + 0.035 * (turn - turn[0]) / (turn[-1] - turn[0]))
    points = centre + np.column_stack([np.cos(turn) * 1.03, np.sin(turn) * 0.98]) * reach[:, None]
    frame, inset = drawing.frame, round(drawing.style.size.unit)
    low = (frame.x + inset, frame.y + inset)
    high = (frame.x + frame.width - inset, frame.y + frame.height - inset)
    return _smooth(np.clip(frame.place(points), low, high))


def _smooth(units: np.ndarray) -> str:
    """Path text of a smooth curve through points: quadratic pieces between the middles of its sides."""
    middles = (units[1:-1] + units[2:]) // 2
    text = [f"M{units[0][0]} {units[0][1]}"]
    for (cx, cy), (x, y) in zip(units[1:-1].tolist(), [*middles[:-1].tolist(), units[-1].tolist()], strict=True):
        text.append(f"Q{cx} {cy} {x} {y}")
    return "".join(text)
