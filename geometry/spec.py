"""The spec of a question: which sheet, folded how, punched where. Frozen values, read strictly and written canonically.

``read_spec`` accepts version 1 of the JSON form and refuses everything else with a sentence that names the fold or
punch. Numbers become exact rationals: a string ``"p/q"`` is that rational, a JSON number the rational that it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache, partial
from math import isfinite
from typing import Any, Literal

from geometry import sheets
from geometry.cutting import is_convex
from geometry.errors import SpecError
from geometry.kept import kept
from geometry.parsing import parse, shown
from geometry.plane import Point, Polygon
from geometry.shapes import SHAPES

Way = Literal["over", "behind"]

MOST_FOLDS = 8
MOST_PUNCHES = 24
MOST_POINTS = 240
FARTHEST = 100  # sheet widths
FINEST = 10**60  # largest denominator
_RATIONAL = re.compile(r"-?[0-9]{1,60}(?:/[0-9]{1,60})?", re.ASCII)


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper. ``width`` and ``height`` belong to the rectangle, ``points`` to the polygon."""

    kind: str = "square"
    width: Fraction = Fraction(1)
    height: Fraction = Fraction(1)
    points: tuple[Point, ...] = ()

    @cached_property
    def outline(self) -> Polygon:
        """Exact vertices, anticlockwise."""
        return sheets.outline(self.kind, width=self.width, height=self.height, points=self.points)

    @cached_property
    def is_convex(self) -> bool:
        return self.kind != "polygon" or is_convex(self.outline)

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {"kind": self.kind}
        if self.kind == "rectangle":
            out |= {"width": str(self.width), "height": str(self.height)}
        if self.kind == "polygon":
            out["points"] = [_write_point(p) for p in self.points]
        return out


@dataclass(frozen=True)
class Fold:
    """One fold: a ``crease`` (two points of its line) with a point on the side that ``moves``; or ``bring`` P ``to`` Q.

    ``layers`` is None for all layers, else how many are taken at the grip.
    """

    crease: tuple[Point, Point] | None = None
    moves: Point | None = None
    bring: Point | None = None
    to: Point | None = None
    way: Way = "over"
    layers: int | None = None

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {}
        if self.crease is not None and self.moves is not None:
            out |= {"crease": [_write_point(p) for p in self.crease], "moves": _write_point(self.moves)}
        if self.bring is not None and self.to is not None:
            out |= {"bring": _write_point(self.bring), "to": _write_point(self.to)}
        return out | {"way": self.way, "layers": "all" if self.layers is None else self.layers}


@dataclass(frozen=True)
class Punch:
    """One punch in the plane of the folded sheet: centre ``at``, ``size`` the diameter of the circle about the shape.

    ``turn`` is in degrees anticlockwise. ``points`` are the outline's, in units of ``size``, when shape is "outline".
    """

    shape: str
    at: Point
    size: Fraction = Fraction(1, 12)
    turn: Fraction = Fraction(0)
    points: tuple[Point, ...] = ()

    @kept
    def lies(self) -> tuple[float, float, float]:
        """The centre's x and y, and the size, each rounded once."""
        x, y, size = [top / bottom for top, bottom in map(Fraction.as_integer_ratio, (*self.at, self.size))]
        return x, y, size

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {"shape": self.shape, "at": _write_point(self.at), "size": str(self.size)}
        out["turn"] = self.turn.numerator if self.turn.denominator == 1 else float(self.turn)
        if self.shape == "outline":
            out["points"] = [_write_point(p) for p in self.points]
        return out


@dataclass(frozen=True)
class Spec:
    """A whole question, before anything is worked out."""

    sheet: Sheet
    folds: tuple[Fold, ...]
    punches: tuple[Punch, ...]

    def to_json(self) -> dict[str, Any]:
        """The canonical JSON form: reading it gives an equal spec."""
        return {
            "version": 1,
            "sheet": self.sheet.to_json(),
            "folds": [fold.to_json() for fold in self.folds],
            "punches": [punch.to_json() for punch in self.punches],
        }


def read_spec(source: dict[str, Any] | str | bytes) -> Spec:
    """The spec in a dict or in JSON text. Raises ``SpecError`` (with ``fold`` or ``punch``) on anything else."""
    data = parse(source) if isinstance(source, str | bytes) else source
    sheet, folds, punches = _readings(data)
    return Spec(sheet=sheet(), folds=tuple(read() for read in folds), punches=tuple(read() for read in punches))


def problems(source: dict[str, Any] | str | bytes) -> list[SpecError]:
    """Everything that keeps a spec from being read, each with its place; nothing if it can be read."""
    found: list[SpecError] = []
    try:
        sheet, folds, punches = _readings(parse(source) if isinstance(source, str | bytes) else source)
    except SpecError as error:
        return [error]
    for read in (sheet, *folds, *punches):
        try:
            read()
        except SpecError as error:
            found.append(error)
    return found


Readings = tuple[Callable[[], Sheet], list[Callable[[], Fold]], list[Callable[[], Punch]]]


def _readings(data: Any) -> Readings:
    """How to read the sheet, each fold and each punch, once it is known that they are there."""
    _fields(data, "The spec", required=("version", "sheet"), optional=("folds", "punches"))
    if data["version"] != 1 or isinstance(data["version"], bool):
        raise SpecError("The spec's version must be 1.", value=data["version"])
    folds = _listed(data.get("folds", []), "folds", MOST_FOLDS)
    punches = _listed(data.get("punches", []), "punches", MOST_PUNCHES)
    return (
        partial(_read_sheet, data["sheet"]),
        [partial(_placed, _read_fold, f"Fold {k}", f, fold=k) for k, f in enumerate(folds, 1)],
        [partial(_placed, _read_punch, f"Punch {i + 1}", p, punch=i) for i, p in enumerate(punches)],
    )


def _placed(
    read: Callable[[Any, str], Any],
    where: str,
    data: Any,
    *,
    fold: int | None = None,
    punch: int | None = None,
) -> Any:
    """Read one fold or punch; an error learns which one it was."""
    try:
        return read(data, where)
    except SpecError as error:
        error.fold, error.punch = fold, punch
        raise


def _read_sheet(data: Any) -> Sheet:
    _fields(data, "The sheet", required=("kind",), optional=("width", "height", "points"))
    kind = data["kind"]
    if kind not in sheets.KINDS:
        raise SpecError(f"The sheet's kind must be one of {', '.join(sheets.KINDS)}.", value=kind)
    own = {"rectangle": {"width", "height"}, "polygon": {"points"}}.get(kind, set())
    given = set(data) - {"kind"}
    if given != own:
        wanted = " and ".join(sorted(own)) or "nothing but its kind"
        raise SpecError(f"A {kind} sheet takes {wanted}.", value=sorted(given))
    sheet = Sheet(kind)
    if kind == "rectangle":
        width, height = (_positive(data[name], f"The sheet's {name}", most=10) for name in ("width", "height"))
        sheet = Sheet(kind, width, height)
    if kind == "polygon":
        points = _listed(data["points"], "points of the sheet", MOST_POINTS)
        sheet = Sheet(kind, points=tuple(_point(p, f"Point {i} of the sheet") for i, p in enumerate(points, 1)))
    _ = sheet.outline  # a polygon that crosses itself is refused here
    return sheet


def _read_fold(data: Any, where: str) -> Fold:
    _fields(data, where, required=(), optional=("crease", "moves", "bring", "to", "way", "layers"))
    by_crease, by_points = {"crease", "moves"} <= set(data), {"bring", "to"} <= set(data)
    named = len({"crease", "moves", "bring", "to"} & set(data))
    if named != 2 or by_crease == by_points:
        raise SpecError(f"{where} needs either a crease with the side that moves, or a point to bring and where to.")
    way = data.get("way", "over")
    if way not in ("over", "behind"):
        raise SpecError(f"{where} goes “over” or “behind”, nothing else.", value=way)
    layers = data.get("layers", "all")
    if layers != "all" and (
        not isinstance(layers, int) or isinstance(layers, bool) or not 1 <= layers <= 2**MOST_FOLDS
    ):
        raise SpecError(f"{where} takes “all” layers or a whole number of them, 1 or more.", value=layers)
    taken = None if layers == "all" else layers
    if by_points:
        bring, to = _point(data["bring"], f"{where}: bring"), _point(data["to"], f"{where}: to")
        return Fold(bring=bring, to=to, way=way, layers=taken)
    ends = _listed(data["crease"], "points of the crease", 2)
    if len(ends) != 2:
        raise SpecError(f"{where}: a crease is given by two points.", value=len(ends))
    first, second = (_point(p, f"{where}: crease point {i}") for i, p in enumerate(ends, 1))
    return Fold(crease=(first, second), moves=_point(data["moves"], f"{where}: moves"), way=way, layers=taken)


def _read_punch(data: Any, where: str) -> Punch:
    _fields(data, where, required=("shape", "at"), optional=("size", "turn", "points"))
    shape = data["shape"]
    if not isinstance(shape, str) or (shape not in SHAPES and shape != "outline"):
        raise SpecError(f"{where}: the shape must be one of {', '.join(SHAPES)} or outline.", value=shape)
    if (shape == "outline") != ("points" in data):
        raise SpecError(f"{where}: points belong to the shape “outline”, and to no other.", value=shape)
    points: tuple[Point, ...] = ()
    if shape == "outline":
        given = _listed(data["points"], "points of the outline", MOST_POINTS)
        points = tuple(_point(p, f"{where}, point {i}") for i, p in enumerate(given, 1))
        _check_outline(points, where)
    return Punch(
        shape=shape,
        at=_point(data["at"], f"{where}: at"),
        size=_positive(data.get("size", "1/12"), f"{where}: the size", most=1),
        turn=number(data.get("turn", 0), f"{where}: the turn", most=360_000),
        points=points,
    )


def _check_outline(points: tuple[Point, ...], where: str) -> None:
    try:
        sheets.outline("polygon", width=Fraction(1), height=Fraction(1), points=points)
    except SpecError as error:
        says = str(error).replace("The polygon sheet's outline", "the outline")
        says = says.replace("A polygon sheet", "the outline").replace("The polygon sheet", "the outline")
        raise SpecError(f"{where}: {says}") from None
    if any(max(abs(x), abs(y)) > 2 for x, y in points):
        raise SpecError(f"{where}: the outline's points are in units of its size, at most 2 from the centre.")


def _fields(data: Any, where: str, *, required: tuple[str, ...], optional: tuple[str, ...]) -> None:
    if not isinstance(data, dict):
        raise SpecError(f"{where} must be an object with named fields.", value=data)
    for name in data:
        if name not in required and name not in optional:
            raise SpecError(f"{where} has no field “{shown(name)}”.", value=name)
    for name in required:
        if name not in data:
            raise SpecError(f"{where} lacks the field “{name}”.")


def _listed(data: Any, what: str, most: int) -> list[Any]:
    if not isinstance(data, list | tuple):
        raise SpecError(f"The {what} must be a list.", value=data)
    if len(data) > most:
        raise SpecError(f"There are {len(data):,} {what}; at most {most} can be read.", value=len(data))
    return list(data)


def _point(data: Any, where: str) -> Point:
    if not isinstance(data, list | tuple) or len(data) != 2:
        raise SpecError(f"{where} must be two numbers.", value=data)
    return number(data[0], where), number(data[1], where)


def _positive(data: Any, where: str, *, most: int) -> Fraction:
    value = number(data, where)
    if not Fraction(1, 1000) <= value <= most:
        raise SpecError(f"{where} must lie between 1/1000 and {most}.", value=data)
    return value


def number(data: Any, where: str, *, most: int = FARTHEST) -> Fraction:
    """An exact rational from a JSON number or a string ``p/q``. Raises ``SpecError`` on anything else."""
    value: Fraction | None = None
    if isinstance(data, str):
        if (value := _rational(data)) is None and _RATIONAL.fullmatch(data):
            raise SpecError(f"{where}: nothing can be divided by 0.", value=data)
    elif _is_number(data):
        value = Fraction(data)
    if value is None:
        raise SpecError(f"{where}: a number is needed, or a fraction like “3/8”.", value=data)
    top, bottom = value.as_integer_ratio()
    if not -most * bottom <= top <= most * bottom:
        raise SpecError(f"{where} must lie between -{most} and {most}.", value=data)
    if bottom > FINEST:
        raise SpecError(f"{where} is finer than can be drawn.", value=data)
    return value


@lru_cache(maxsize=4096)  # the same few fractions come again and again
def _rational(text: str) -> Fraction | None:
    """The number that a string like ``3/8`` stands for; None if it stands for none."""
    if not _RATIONAL.fullmatch(text):
        return None
    top, _, bottom = text.partition("/")
    return Fraction(int(top), int(bottom or 1)) if int(bottom or 1) else None


def _is_number(data: Any) -> bool:
    """True for whole numbers of any length, finite floats and fractions; False for true and false."""
    if isinstance(data, float):
        return isfinite(data)
    return isinstance(data, int | Fraction) and not isinstance(data, bool)


def _write_point(p: Point) -> list[str]:
    return [str(p[0]), str(p[1])]
