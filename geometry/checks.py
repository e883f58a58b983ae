"""Checks of an option set, in plain words for the teacher, each worked out anew from the spec and the pictures.

The right option is found by a path that shares nothing with the making of options: points of the sheet are folded, one
reflection for each fold that moves them, and are holes when they come to lie under a punch. Folds that take some layers
only need the stack of faces, and are held against the exact unfolding.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import floor
from typing import TYPE_CHECKING

import numpy as np
import shapely

from geometry.flat import RIM
from geometry.folding import GRID
from geometry.guessed import guessed
from geometry.mistakes import OWN
from geometry.plane import to_xy
from geometry.spec import Sheet
from geometry.telling_apart import NEAR, NEAR_SIZES, TURNED
from geometry.unfolding import Unfolding, unfold

if TYPE_CHECKING:
    from geometry.option_sets import Option, OptionSet

PRINTED = 30.0  # mm: the width of an option's picture in print
CLEAR = 1.0  # mm that a hole keeps from edges and creases
LEGIBLE = 1.5  # mm: the least width of a hole
PENCIL = 0.5  # mm: what is nowhere wider is read as a line (common practice, no published source)
SAMPLES = 60  # points of the sheet along each side of the grid that is folded
SAME = 1e-6  # area by which equal regions may differ
COPIED = 1e-8  # sheet widths between corners that were rounded from one
NEARLY = 1e-3  # sheet widths by which the bounds of regions so equal may differ
DISTRACTORS = 4
ROUNDING = 1e-6  # mm
HAIR = 1e-6  # sheet widths: what rounding may take from a distance
TOUCH = 1e-7  # sheet widths: a line no farther off may be one that crosses


@dataclass(frozen=True)
class Check:
    """``says`` is a plain sentence; ``place`` what it speaks of ("options", "hole 3", ...)."""

    name: str
    ok: bool
    says: str
    place: str = "options"


def check_set(options: OptionSet, unfolding: Unfolding | None = None) -> tuple[Check, ...]:
    """All checks of a set, but those for which there is nothing yet; ``unfolding`` is the spec's, where it is known.

    Raises what ``unfold`` raises for a spec that cannot be made.
    """
    unfolding = unfolding or unfold(options.spec)
    return (
        *are_five(options),
        *made_by_hand(options, unfolding),
        one_right_answer(options, unfolding),
        *([options_tell_apart(options), wrong_options_differ_in_kind(options)] if len(options.options) > 1 else []),
        *([holes_are_clear(unfolding), holes_are_legible(unfolding)] if options.spec.punches else []),
        *([cannot_be_guessed(options)] if len(options.options) > DISTRACTORS else []),
    )


def are_five(options: OptionSet) -> Iterator[Check]:
    """Said of a set that is being made and is not whole yet."""
    wrong = len(options.options) - 1
    if wrong < DISTRACTORS:
        told = f"{wrong} of {DISTRACTORS} wrong options are there." if wrong else "There is no wrong option yet."
        yield Check("five options", False, f"{told} Add the rest, or change the paper.")


def made_by_hand(options: OptionSet, unfolding: Unfolding) -> Iterator[Check]:
    """Said of pictures that a teacher changed: whether paper could show them, as it could every drawn one."""
    own = [option for option in options.options if any(mistake.kind == OWN for mistake in option.mistakes)]
    if not own:
        return
    true = [hole.region for hole in unfolding.holes()]
    inside = shapely.Polygon(to_xy(options.spec.sheet.outline)).buffer(-RIM, join_style="mitre")
    for option in own:
        off = any(not inside.covers(h) for h in option.holes if not any(_same(h, t) for t in true))
        over = sum(h.area for h in option.holes) - shapely.union_all(option.holes, grid_size=GRID).area > SAME
        fault = "has a hole off the sheet or at its edge" if off else "has holes that lie over one another"
        says = f"Option {option.label}, made by hand, {fault if off or over else 'is a sheet that could be'}."
        yield Check("made by hand", not (off or over), says, f"option {option.label}")


def one_right_answer(options: OptionSet, unfolding: Unfolding) -> Check:
    """The key, and no other option, shows the true holes."""
    true = _tidied([hole.region for hole in unfolding.holes()])
    points, inside = folded_points(unfolding)
    right = []
    for option in options.options:
        if _shows(_tidied(option.holes), true) and (inside is None or _agrees(option.holes, points, inside)):
            right.append(option.label)
    if right == [options.key]:
        return Check("one right answer", True, f"Option {options.key} is right, and no other.")
    found = " and ".join(right) or "none"
    return Check("one right answer", False, f"Option {options.key} should be the only right one; found: {found}.")


def _shows(holes: Sequence[shapely.Polygon], true: Sequence[shapely.Polygon]) -> bool:
    """True when the holes cover what the true ones cover. Mostly one hole alone tells, without laying all of them."""
    stray, missing = _unlike(holes, true)
    if not stray and not missing:
        return True
    if any(_outside(hole, true) > SAME for hole in stray):
        return False
    truth = shapely.union_all(true, grid_size=GRID)
    shown = shapely.union_all(holes, grid_size=GRID)
    return bool(shapely.symmetric_difference(shown, truth, grid_size=GRID).area < SAME)


def _outside(hole: shapely.Polygon, others: Sequence[shapely.Polygon]) -> float:
    """How much of a hole lies outside all others, as an area."""
    meeting = [other for other in others if hole.intersects(other)]
    return (
        shapely.difference(hole, shapely.union_all(meeting, grid_size=GRID), grid_size=GRID).area
        if meeting
        else hole.area
    )


def _agrees(holes: Sequence[shapely.Polygon], points: np.ndarray, inside: np.ndarray) -> bool:
    """True when the picture has a hole at a point exactly where folding says so, points on an outline apart."""
    shown = shapely.union_all(holes, grid_size=GRID)
    shapely.prepare(shown)
    unlike = points[shapely.contains_xy(shown, points[:, 0], points[:, 1]) != inside]
    return bool(shapely.dwithin(shapely.boundary(shown), shapely.points(unlike), 1e-6).all())


def folded_points(unfolding: Unfolding) -> tuple[np.ndarray, np.ndarray | None]:
    """A grid of points of the sheet, and which are punched out: each is reflected at every crease beyond which it lies.

    None instead of the answer when some fold takes some layers only.
    """
    points = _grid(unfolding.spec.sheet)
    if any(crease.layers is not None for crease in unfolding.folded.creases):
        return points, None
    lying = points.copy()
    for crease in unfolding.folded.creases:
        a, b, c = (float(v) for v in crease.line)
        beyond = lying @ np.array([a, b]) + c
        over = beyond > 0
        lying[over] -= 2 * beyond[over, None] * np.array([a, b]) / (a * a + b * b)
    inside = np.zeros(len(points), dtype=bool)
    for outline in unfolding.outlines:
        punch = shapely.Polygon(outline)
        shapely.prepare(punch)
        inside |= shapely.contains_xy(punch, lying[:, 0], lying[:, 1])
    return points, inside


@lru_cache(maxsize=64)
def _grid(sheet: Sheet) -> np.ndarray:
    """The points, N x 2 in sheet widths; not to be written to."""
    xy = to_xy(sheet.outline)
    (x0, y0), (x1, y1) = xy.min(axis=0), xy.max(axis=0)
    steps = (np.arange(SAMPLES) + 0.5) / SAMPLES
    across, up = np.meshgrid(x0 + (x1 - x0) * steps, y0 + (y1 - y0) * steps)
    grid = np.column_stack([across.ravel(), up.ravel()])
    paper = shapely.Polygon(xy)
    shapely.prepare(paper)
    return grid[shapely.contains_xy(paper, grid[:, 0], grid[:, 1])]


def options_tell_apart(options: OptionSet) -> Check:
    """Any two options differ in some hole that an eye sees."""
    for first, second in combinations(options.options, 2):
        if not pictures_apart(first.holes, second.holes):
            return Check("options tell apart", False, f"Options {first.label} and {second.label} look too much alike.")
    return Check("options tell apart", True, "Any two options differ visibly, at the size they are printed.")


def pictures_apart(first: Sequence[shapely.Polygon], second: Sequence[shapely.Polygon]) -> bool:
    """True when, equal holes struck out, some hole of one picture has no counterpart in the other."""
    only_first, only_second = _unlike(first, second)
    if len(only_first) != len(only_second):
        return True
    near = _near(only_first, only_second)
    if not (near.any(axis=0).all() and near.any(axis=1).all()):
        return True
    for i, j in np.argwhere(near):
        near[i, j] = _alike(only_first[i], only_second[j])
    return not (near.any(axis=0).all() and near.any(axis=1).all())


def _unlike(
    first: Sequence[shapely.Polygon], second: Sequence[shapely.Polygon]
) -> tuple[list[shapely.Polygon], list[shapely.Polygon]]:
    """The holes of each picture that the other does not show."""
    ours, theirs = np.array(first, dtype=object)[:, None], np.array(second, dtype=object)
    # Options are rounded alike, so what is the same mostly has the same corners.
    same = shapely.equals_exact(ours, theirs, COPIED)
    open_ = ~same.any(axis=1, keepdims=True) & ~same.any(axis=0)
    for i, j in np.argwhere(open_ & shapely.intersects(ours, theirs)):
        same[i, j] = _same(first[i], second[j])
    there, here = same.sum(axis=0), same.sum(axis=1)
    return [p for p, n in zip(first, here, strict=True) if not n], [
        q for q, n in zip(second, there, strict=True) if not n
    ]


def _tidied(regions: Sequence[shapely.Polygon]) -> list[shapely.Polygon]:
    """The regions rounded and begun alike, in whatever order their corners came."""
    rounded = shapely.set_precision(np.array(regions, dtype=object), COPIED / 10, mode="pointwise")
    return shapely.normalize(rounded).tolist()


def _same(p: shapely.Polygon, q: shapely.Polygon) -> bool:
    if not p.intersects(q):
        return False
    if p.equals_exact(q, COPIED):
        return True
    if any(abs(a - b) > NEARLY for a, b in zip(p.bounds, q.bounds, strict=True)):
        return False
    return shapely.symmetric_difference(p, q, grid_size=GRID).area < SAME


def _near(first: Sequence[shapely.Polygon], second: Sequence[shapely.Polygon]) -> np.ndarray:
    """Which holes of the first lie so near to which of the second that one could be taken for the other.

    Just three quarters of its size away a hole is far enough: a hair is allowed for corners that were rounded.
    """
    ours, theirs = (shapely.get_coordinates(shapely.centroid(holes)).view(complex)[:, 0] for holes in (first, second))
    sizes = 2 * shapely.minimum_bounding_radius(np.array(first, dtype=object))
    return np.abs(ours[:, None] - theirs) < np.maximum(NEAR, NEAR_SIZES * sizes - HAIR)[:, None]


def _alike(p: shapely.Polygon, q: shapely.Polygon) -> bool:
    """Alike when laid on one another."""
    between = np.subtract(q.centroid.coords[0], p.centroid.coords[0])
    laid = shapely.transform(q, lambda xy: xy - between)
    return shapely.symmetric_difference(p, laid, grid_size=GRID).area < TURNED * max(p.area, q.area)


def wrong_options_differ_in_kind(options: OptionSet) -> Check:
    """Three kinds of mistake or more, at two folds or more."""
    kinds = {m.kind for o in options.options for m in o.mistakes}
    folds = {("punch" if m.before else m.fold) for o in options.options for m in o.mistakes}
    ok = len(kinds) >= 3 and len(folds) >= 2
    says = f"The wrong options stand for {len(kinds)} kinds of mistake, made at {len(folds)} different steps."
    return Check("mistakes differ", ok, says)


def holes_are_clear(unfolding: Unfolding) -> Check:
    """No hole comes closer than a millimetre to an edge or crease that it does not meet."""
    width = float(np.ptp(to_xy(unfolding.spec.sheet.outline)[:, 0]))
    lines = shapely.union_all([shapely.LinearRing(face.outline_xy) for face in unfolding.folded.states[-1].faces])
    for number, hole in enumerate(unfolding.holes(), 1):
        gap = _gap(hole.region, lines) / width * PRINTED
        if gap < CLEAR - ROUNDING:
            says = f"A hole comes within {_short(gap)} mm of an edge or crease in print; keep 1 mm, or let it cross."
            return Check("holes are clear", False, says, f"hole {number}")
    return Check("holes are clear", True, "Every hole is clear of edges and creases by a millimetre in print.", "holes")


def _short(length: float) -> str:
    """Millimetres that are too few, rounded down: 0.96 of 1 is not "1.0"."""
    return f"{floor(length * 10) / 10:.1f}"


def _gap(region: shapely.Polygon, lines: shapely.Geometry) -> float:
    """How far a region is from the lines that it does not plainly cross; a mere touch counts as no distance."""
    parts = shapely.get_parts(lines)
    far = shapely.distance(parts, region).tolist()
    return min(
        (gap for gap, line in zip(far, parts, strict=True) if gap > TOUCH or not _crosses(line, region)), default=1.0
    )


def _crosses(line: shapely.LineString, region: shapely.Polygon) -> bool:
    return shapely.intersection(line, region.buffer(TOUCH)).length > 1e-3


def holes_are_legible(unfolding: Unfolding) -> Check:
    """No hole is so small or so thin in print that it is taken for a dot or a line, and none runs into the next."""
    mm = PRINTED / float(np.ptp(to_xy(unfolding.spec.sheet.outline)[:, 0]))
    regions = [hole.region for hole in unfolding.holes()]
    thin = shapely.is_empty(shapely.buffer(regions, -PENCIL / 2 / mm, quad_segs=2)).tolist()
    for number, (size, gap) in enumerate(_sizes(regions), 1):
        if size * mm < LEGIBLE:
            says = f"A hole is {_short(size * mm)} mm wide in print; {LEGIBLE} mm can be read."
            return Check("holes are legible", False, says, f"hole {number}")
        if thin[number - 1]:
            says = f"A hole is nowhere {PENCIL} mm thick in print: it would be read as a line."
            return Check("holes are legible", False, says, f"hole {number}")
        if gap * mm < CLEAR / 2:
            return Check("holes are legible", False, "Two holes almost touch in print.", f"hole {number}")
    return Check("holes are legible", True, "Every hole can be read at the size it is printed.", "holes")


def _sizes(regions: Sequence[shapely.Polygon]) -> Iterator[tuple[float, float]]:
    """Each region's width (the circle about it) and its distance to the nearest other."""
    all_of_them = np.array(regions, dtype=object)
    gaps = shapely.distance(all_of_them[:, None], all_of_them)
    np.fill_diagonal(gaps, 1.0)
    widths = 2 * shapely.minimum_bounding_radius(all_of_them)
    yield from zip(widths.tolist(), gaps.min(axis=0, initial=1.0).tolist(), strict=True)


def cannot_be_guessed(options: OptionSet) -> Check:
    """What the pictures alone give away. A figure for the teacher to weigh, not a reason to refuse."""
    if options.sets == "lot":
        stray = [option.label for option in options.options if not _answers_its_sister(options, option)]
        if stray:
            says = f"Option {stray[0]} is not the right answer of its sister question, so this set is not drawn by lot."
            return Check("guessing", False, says)
        says = "Drawn by lot: any of the five could have been right, so the pictures alone tell nothing (1 in 5)."
    else:
        simple, learned = guessed(mistake.kind for option in options.options for mistake in option.mistakes)
        says = (
            "For practice, not for a test: with such mistakes, picking the picture most like the others found the key "
            f"{100 * simple:.0f} times in 100, and a program that had studied other sets {100 * learned:.0f} times; "
            "by chance it would be 20."
        )
    return Check("guessing", True, says)


def _answers_its_sister(options: OptionSet, option: Option) -> bool:
    """True when an option is what its sister question's paper shows; sets kept without sisters are believed."""
    spec = options.sister(option.label)
    if spec is None:
        return options.grid is None
    truth = shapely.union_all([hole.region for hole in unfold(spec).holes()], grid_size=GRID)
    shown = shapely.union_all(option.holes, grid_size=GRID)
    return bool(shapely.symmetric_difference(shown, truth, grid_size=GRID).area < SAME)
