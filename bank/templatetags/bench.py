"""Small readings that the workbench's templates need."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.template import Library

from geometry.shapes import SHAPES

register = Library()


@register.filter
def at(things: Sequence[Any] | Mapping[str, Any], place: int | str) -> Any:
    """Return the thing at a place, or nothing where there is none."""
    if isinstance(things, Mapping):
        return things.get(str(place))
    return things[int(place)] if int(place) < len(things) else None


@register.filter
def die_path(shape: str) -> str:
    """Return a shape's outline as the path of a picture 100 x 100, y down."""
    corners = (f"{50 + 92 * x:.2f} {50 - 92 * y:.2f}" for x, y in SHAPES[shape].outline)
    return f"M{'L'.join(corners)}Z"


@register.filter
def openings(folds: int) -> range:
    """Return the numbers of the folds in the order in which they open."""
    return range(folds, 0, -1)
