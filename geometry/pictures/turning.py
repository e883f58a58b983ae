"""How a flap turns when its fold opens, in the units of a question's pictures, for a page that shows it in motion."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees

from geometry.pictures.areas import polygons_in
from geometry.pictures.layers import moved_region
from geometry.pictures.outlines import outline_path
from geometry.pictures.paper import points_of
from geometry.pictures.stem import question_frame
from geometry.unfolding import Unfolding


@dataclass(frozen=True)
class FlapTurn:
    """``crease`` is two points of the line it turns about, ``flap`` the path of where it comes to lie when open.

    ``tilt`` is by how many degrees, clockwise, the page is turned until the crease stands upright (0: it does, or lies
    level, and no child needs help).
    """

    crease: tuple[int, int, int, int]
    flap: str
    tilt: float


def flap_turn(unfolding: Unfolding, fold: int) -> FlapTurn:
    """How the flap of fold ``fold`` turns back."""
    frame = question_frame(unfolding)
    crease = unfolding.folded.creases[fold - 1]
    (x1, y1), (x2, y2) = frame.place(points_of(crease)).tolist()
    path = outline_path(frame, polygons_in(moved_region(unfolding, fold)))
    a, b, _ = crease.line
    return FlapTurn((x1, y1, x2, y2), path, _upright(x2 - x1, y2 - y1) if a and b else 0.0)


def _upright(across: int, down: int) -> float:
    """The least turn that makes a line stand upright."""
    angle = degrees(atan2(across, down)) % 180
    return round(angle - 180 if angle > 90 else angle, 3)
