"""The simplest way to know whether a point of the sheet is punched away: fold the point, and look under the punch.

A point moves at a fold when it lies on the moving side; then it is reflected in the crease. It is in a hole when it
ends under a punch. Right for all-layers folds, and it shares nothing with the engine but the creases a spec names.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely


def crease_of(fold: dict[str, Any]) -> tuple[complex, complex, complex]:
    """A point of the crease, its direction, and a point that moves, from a fold's JSON."""

    def read(p: Any) -> complex:
        top = [float(value_of(c)) for c in p]
        return complex(*top)

    if "bring" in fold:
        p, q = read(fold["bring"]), read(fold["to"])
        return (p + q) / 2, (q - p) * 1j, p
    a, b = (read(p) for p in fold["crease"])
    return a, b - a, read(fold["moves"])


def value_of(text: Any) -> float:
    top, _, bottom = str(text).partition("/")
    return float(top) / float(bottom or 1)


def side(z: Any, a: complex, d: complex) -> Any:
    """Positive to the left of the line through a along d."""
    return (np.conj(d) * (z - a)).imag


def folded(points: np.ndarray, folds: list[dict[str, Any]]) -> np.ndarray:
    """Where points of the flat sheet (complex) lie once all folds are made."""
    for fold in folds:
        a, d, grip = crease_of(fold)
        moves = np.sign(side(points, a, d)) == np.sign(side(grip, a, d))
        mirrored = a + d / np.conj(d) * np.conj(points - a)
        points = np.where(moves, mirrored, points)
    return points


def is_true_answer(spec: dict[str, Any], punches: list[Any], holes: list[Any], *, across: int = 60) -> bool:
    """Whether holes (polygons) are what the punches' outlines leave on a square, point by point, away from outlines."""
    grid = (np.arange(across) + 0.5) / across
    flat = (grid[:, None] + 1j * grid[None, :]).ravel()
    at = folded(flat, spec["folds"])
    cut = shapely.unary_union([shapely.Polygon(outline) for outline in punches])
    shown = shapely.unary_union(holes)
    shapely.prepare([cut, shown])
    differ = shapely.contains_xy(cut, at.real, at.imag) != shapely.contains_xy(shown, flat.real, flat.imag)
    at, flat = at[differ], flat[differ]  # only these need a look at how near an outline they are
    under, drawn = shapely.points(at.real, at.imag), shapely.points(flat.real, flat.imag)
    clear = (shapely.distance(under, cut.boundary) > 1e-6) & (shapely.distance(drawn, shown.boundary) > 1e-6)
    return not clear.any()
