"""The dot screen: rows of dots inside a region, for themes without tints.

The dots are dashes of hardly any length with square ends, one line for each stretch of a row, begun on a lattice that
all regions share. So the screen needs no pattern, clip or identifier, and neighbouring regions match.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor
from typing import cast

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.pictures.svg import Drawing

CLEAR = 1.15  # line weights between a dot's centre and the region's rim


def dot_rows(drawing: Drawing, region: BaseGeometry) -> str:
    """Path text of the rows; every dot stands clear of the region's rim."""
    size = drawing.style.size
    field = shapely.transform(region, drawing.frame.place).buffer(-CLEAR * size.unit)
    if field.is_empty:
        return ""
    left, top, right, bottom = field.bounds
    rows = np.arange(ceil(2 * top / size.pitch), floor(2 * bottom / size.pitch) + 1)
    y = rows * size.pitch / 2
    across = shapely.linestrings(
        np.stack([np.column_stack([np.full_like(y, left), y]), np.column_stack([np.full_like(y, right), y])], axis=1)
    )
    stretches = cast(np.ndarray, shapely.intersection(across, field))
    return "".join(dots for n, row in zip(rows.tolist(), stretches, strict=True) for dots in _row(n, row, size.pitch))


def _row(number: int, stretches: BaseGeometry, pitch: int) -> Iterator[str]:
    """The dots of one row, every other row moved by half a pitch."""
    shift = pitch // 2 * (number % 2)
    for part in shapely.get_parts(stretches):
        if part.is_empty:
            continue
        low, _, high, _ = part.bounds
        first, last = ceil((low - shift) / pitch) * pitch + shift, floor((high - shift) / pitch) * pitch + shift
        if first <= last:
            yield f"M{first} {number * pitch // 2}H{last + 1}"
