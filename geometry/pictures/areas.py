"""Overlays of areas that stay areas: what is common, what is left, what is joined.

An overlay may leave lines and points where areas only touch, and slivers where they almost coincide; the next overlay
would refuse the one and draw the other. So each result is reduced to polygons that can be seen.
"""

from __future__ import annotations

from collections.abc import Iterable

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from geometry.folding import GRID

LEAST = 1e-7  # sheet widths squared; anything smaller is an overlay's leftover
NOTHING = Polygon()


def common(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """The area that lies in both."""
    return _areas(shapely.intersection(a, b, grid_size=GRID))


def without(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """The area of ``a`` outside ``b``."""
    return _areas(a if b.is_empty else shapely.difference(a, b, grid_size=GRID))


def joined(parts: Iterable[BaseGeometry]) -> BaseGeometry:
    """The area covered by any of the parts."""
    parts = list(parts)
    alone = len(parts) == 1 and parts[0].geom_type == "Polygon"
    return _areas(parts[0] if alone else shapely.union_all(parts, grid_size=GRID))


def polygons_in(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons of a geometry, whatever else an overlay left in it."""
    parts = shapely.get_parts(geometry).tolist()
    if any(part.geom_type.startswith(("Multi", "Geometry")) for part in parts):
        return [polygon for part in parts for polygon in polygons_in(part)]
    return [part for part in parts if part.geom_type == "Polygon" and part.area > LEAST]


def _areas(geometry: BaseGeometry) -> BaseGeometry:
    if geometry.geom_type == "Polygon" and geometry.area > LEAST:
        return geometry
    polygons = polygons_in(geometry)
    if not polygons:
        return NOTHING
    return polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)
