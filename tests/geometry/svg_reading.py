"""Reading a picture back: marks as lists of strokes in sheet widths, never as text. Shares no code with the drawing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
TOKEN = re.compile(r"([MLHQazZ])|(-?\d+(?:\.\d+)?)")
UNITS = 8400
MARGIN = 600


@dataclass(frozen=True)
class Stroke:
    """One subpath: its points (N x 2, units of the view box, y down) and whether it is closed."""

    units: np.ndarray
    closed: bool


@dataclass(frozen=True)
class Mark:
    """One painted path."""

    attributes: dict[str, str]
    strokes: tuple[Stroke, ...]
    left: float
    top: float

    @property
    def fill(self) -> str:
        return self.attributes["fill"]

    @property
    def stroke(self) -> str | None:
        return self.attributes.get("stroke")

    @property
    def is_dashed(self) -> bool:
        return "stroke-dasharray" in self.attributes

    @property
    def lines(self) -> list[np.ndarray]:
        """Each stroke in sheet widths, y up."""
        return [self.to_sheet(stroke.units) for stroke in self.strokes]

    def to_sheet(self, units: np.ndarray) -> np.ndarray:
        x, y = units[:, 0], units[:, 1]
        return np.column_stack([(x - MARGIN) / UNITS + self.left, self.top - (y - MARGIN) / UNITS])

    @cached_property
    def region(self) -> shapely.Geometry:
        """What the path fills by the even-odd rule, in sheet widths."""
        region: shapely.Geometry = shapely.Polygon()
        for line in self.lines:
            if len(line) > 2:
                region = shapely.symmetric_difference(region, shapely.Polygon(line).buffer(0), grid_size=1e-9)
        return region


@dataclass(frozen=True)
class Read:
    """A picture read back."""

    root: etree._Element
    marks: tuple[Mark, ...]

    @property
    def view_box(self) -> tuple[float, ...]:
        return tuple(float(v) for v in self.root.get("viewBox").split())

    def filled(self, colour: str) -> shapely.Geometry:
        """The union of all that is filled with a colour (whatever covers it later)."""
        return shapely.union_all([m.region for m in self.marks if m.fill == colour], grid_size=1e-9)

    def stroked(self, colour: str, *, dashed: bool | None = None) -> list[Mark]:
        found = [m for m in self.marks if m.stroke == colour and m.fill == "none"]
        return [m for m in found if dashed is None or m.is_dashed == dashed]


def read_svg(svg: str, *, left: float = 0.0, top: float = 1.0) -> Read:
    """Parse a picture; ``left`` and ``top`` are its sheet's bounds."""
    root = etree.fromstring(svg.encode(), etree.XMLParser(resolve_entities=False, no_network=True))
    marks = tuple(
        Mark({k: v for k, v in path.attrib.items() if k != "d"}, read_path(path.get("d")), left, top)
        for path in root.iter(f"{SVG}path")
    )
    return Read(root, marks)


def read_path(d: str) -> tuple[Stroke, ...]:
    """The subpaths of path text (absolute M, L, H, Q; relative a for circles; z), curves as 24 straight pieces."""
    strokes: list[Stroke] = []
    points: list[np.ndarray] = []
    tokens = TOKEN.findall(d)
    i, command = 0, ""

    def numbers(n: int) -> np.ndarray:
        nonlocal i
        values = [float(tokens[i + k][1]) for k in range(n)]
        i += n
        return np.array(values)

    def finish(*, closed: bool) -> None:
        if points:
            strokes.append(Stroke(np.array(points), closed))
        points.clear()

    while i < len(tokens):
        if tokens[i][0]:
            command = tokens[i][0]
            i += 1
        if command in "zZ":
            finish(closed=True)
        elif command == "M":
            finish(closed=False)
            points.append(numbers(2))
            command = "L"
        elif command == "L":
            points.append(numbers(2))
        elif command == "H":
            points.append(np.array([numbers(1)[0], points[-1][1]]))
        elif command == "Q":
            control, end, start = numbers(2), numbers(2), points[-1]
            for t in np.linspace(0, 1, 25)[1:]:
                points.append((1 - t) ** 2 * start + 2 * t * (1 - t) * control + t**2 * end)
        elif command == "a":
            radius, *_, dx, dy = numbers(7)
            start = points[-1]
            assert dy == 0
            assert abs(dx) == 2 * radius
            turns = np.linspace(0, np.pi, 13)[1:]
            centre = start + np.array([dx / 2, 0])
            points.extend(centre - np.sign(dx) * radius * np.array([np.cos(t), -np.sin(t)]) for t in turns)
    finish(closed=False)
    return tuple(strokes)
