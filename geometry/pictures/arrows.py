"""The arrow of a fold: from where the paper is gripped, in a curve over the crease, to where it lands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.folding import Crease
from geometry.pictures.svg import Drawing
from geometry.spec import Fold

BOW = 0.17  # how far the curve leaves the straight way, as a part of its length
STEPS = 24  # pieces the curve is measured by


@dataclass(frozen=True)
class Curve:
    """A quadratic curve by its three points, in sheet widths."""

    start: np.ndarray
    control: np.ndarray
    end: np.ndarray

    def at(self, t: float | np.ndarray) -> np.ndarray:
        t = np.atleast_1d(np.asarray(t, dtype=float))[:, None]
        return (1 - t) ** 2 * self.start + 2 * t * (1 - t) * self.control + t**2 * self.end

    def part(self, t0: float, t1: float) -> Curve:
        """The stretch between two parameters."""
        start, end = self.at(t0)[0], self.at(t1)[0]
        towards = (1 - t0) * (self.control - self.start) + t0 * (self.end - self.control)
        return Curve(start, start + (t1 - t0) * towards, end)

    @property
    def length(self) -> float:
        return float(np.hypot(*np.diff(self.at(np.linspace(0, 1, STEPS + 1)), axis=0).T).sum())


def draw_arrow(drawing: Drawing, crease: Crease, grip: np.ndarray, now: BaseGeometry) -> None:
    """Lay the arrow of a fold from its grip; ``now`` is the folded paper's outline."""
    landing = crease.motion.carry_xy(grip[None, :])[0]
    line = drawing.style.size.unit / 8400  # a line's weight in sheet widths
    ring, head = min(1.9 * line, 0.05), min(6.5 * line, 0.22 * float(np.hypot(*(landing - grip))))
    curve = _curve(grip, landing, _centre(drawing))
    from_ring = ring * 1.05 / max(curve.length, 1e-9)
    gap = 1 - 1.2 * line / max(curve.length, 1e-9)
    neck = gap - 0.8 * head / max(curve.length, 1e-9)
    shaft = curve.part(min(from_ring, 0.4), max(neck, 0.5))
    beneath = crease.way == "behind"
    _lay_shaft(drawing, shaft, now if beneath else None)
    tip = curve.at(gap)[0]
    drawing.lay("hollow head" if beneath else "head", _head(drawing, tip, curve.at(neck)[0], head, half=beneath))
    drawing.lay("grip", _circle(drawing, grip, ring))


def grip_of(fold: Fold, crease: Crease, moved: BaseGeometry) -> np.ndarray:
    """Where the arrow begins: the point that the fold brings, else the corner that moves farthest (the topmost one).

    ``moved`` is the paper that moves, where it lies before.
    """
    named = np.array([float(v) for v in crease.grip])
    if fold.bring is not None and shapely.distance(moved, shapely.Point(named)) < 1e-9:
        return named
    corners = np.unique(np.round(shapely.get_coordinates(moved), 12), axis=0)
    a, b, c = (float(v) for v in crease.line)
    reach = np.abs(corners @ (a, b) + c) / np.hypot(a, b)
    far = corners[reach > reach.max() - 1e-9]
    return far[np.lexsort((far[:, 0], -far[:, 1]))[0]]


def _centre(drawing: Drawing) -> np.ndarray:
    frame = drawing.frame
    across, down = frame.x + frame.width / 2 - 600, frame.y + frame.height / 2 - 600
    return np.array([frame.left + across / 8400, frame.top - down / 8400])


def _curve(start: np.ndarray, end: np.ndarray, centre: np.ndarray) -> Curve:
    """The way from start to end, bowed towards the middle of the drawing (to the left of a way through the middle)."""
    way = end - start
    across = np.array([-way[1], way[0]])
    middle = (start + end) / 2
    side = -1.0 if across @ (centre - middle) < -1e-6 else 1.0
    return Curve(start, middle + side * 2 * BOW * across, end)


def _lay_shaft(drawing: Drawing, shaft: Curve, over: BaseGeometry | None) -> None:
    """The curve itself; where it passes beneath paper (``over``) it is broken."""
    drawing.lay("halo", _curve_path(drawing, shaft))
    if over is None:
        drawing.lay("arrow", _curve_path(drawing, shaft))
        return
    t = np.linspace(0, 1, 201)
    inside = shapely.contains_xy(over, shaft.at(t))
    enters = float(t[int(np.argmax(inside))]) if inside.any() else 1.0
    if enters > 0.02:
        drawing.lay("arrow", _curve_path(drawing, shaft.part(0, enters)))
    if enters < 0.98:
        drawing.lay("arrow beneath", _curve_path(drawing, shaft.part(enters, 1)))


def _curve_path(drawing: Drawing, curve: Curve) -> str:
    (x0, y0), (x1, y1), (x2, y2) = drawing.frame.place(np.array([curve.start, curve.control, curve.end])).tolist()
    return f"M{x0} {y0}Q{x1} {y1} {x2} {y2}"


def _head(drawing: Drawing, tip: np.ndarray, neck: np.ndarray, length: float, *, half: bool) -> str:
    """A slim arrow head; for a fold behind, only its left half."""
    along = (tip - neck) / max(float(np.hypot(*(tip - neck))), 1e-12)
    across = np.array([-along[1], along[0]])
    back = tip - along * length
    inner = tip - along * length * 0.78
    points = [tip, back + across * length * 0.42, inner]
    if not half:
        points.append(back - across * length * 0.42)
    return "M" + " ".join(map(str, drawing.frame.place(np.array(points)).ravel().tolist())) + "z"


def _circle(drawing: Drawing, centre: np.ndarray, radius: float) -> str:
    (x, y), r = drawing.frame.place(centre[None, :])[0].tolist(), round(radius * 8400)
    return f"M{x - r} {y}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z"
