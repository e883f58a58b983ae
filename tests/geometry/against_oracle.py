"""Hold the engine's answers to specs against the oracle's, part by part. By hand, thousands at a time:

python -m tests.geometry.against_oracle --count 2000 --seed 1
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction as F
from random import Random
from typing import Any

import numpy as np
import orjson
import shapely

from geometry.commands.unfold import answer
from geometry.errors import GeometryError
from tests.geometry import oracle
from tests.geometry.random_specs import random_spec

CLOSE = 1e-9  # sheet widths
LEAST = 1e-9  # areas below this are touches, not holes


def engine_answer(spec: dict[str, Any], *, steps: bool = True) -> dict[str, Any]:
    """What the command line would write for the spec, read back from JSON."""
    try:
        out = {"ok": True} | answer(json.dumps(spec).encode(), steps=steps)
    except GeometryError as error:
        return {"ok": False, "fold": error.fold, "punch": error.punch, "error": str(error)}
    return orjson.loads(orjson.dumps(out, option=orjson.OPT_SERIALIZE_NUMPY))


def disagreements(spec: dict[str, Any], rng: Random, *, points: int = 40) -> Iterator[str]:
    """One sentence for each thing that engine and oracle see differently."""
    got = engine_answer(spec)
    try:
        states, lines = oracle.fold_up(oracle.sheet_of(spec["sheet"]), spec["folds"])
    except oracle.Refused as refused:
        if got["ok"] or got["fold"] != refused.fold:
            yield f"oracle refuses fold {refused.fold} ({refused.cause}); engine: {str(got)[:90]}"
        return
    if not got["ok"]:
        if got["punch"] is None or _misses_all(spec, states[-1], got["punch"]) is False:
            yield f"engine refuses: {got}"
        return
    outlines = [[(F(x), F(y)) for x, y in outline] for outline in got["punches"]]
    yield from _folded_outline(got)
    yield from _layers(got, states[-1], outlines)
    for k, stack in enumerate(states):
        yield from _faces(got["states"][k], stack, k, rng, points // 4)
    yield from _flat_holes(got, states, lines, outlines, spec, rng, points)
    yield from _outlines_true(got, states[-1], outlines)
    for k in range(1, len(states)):
        yield from _seen_holes(got["states"][k], states, k, outlines, rng, points // 4)


def _folded_outline(got: dict[str, Any]) -> Iterator[str]:
    """The outline written is that of all faces laid over one another by shapely, which ``_faces`` holds true."""
    faces = shapely.union_all([shapely.Polygon(f["folded"]) for f in got["states"][-1]["faces"]], grid_size=1e-10)
    rings = [shapely.Polygon(ring) for ring in got["folded"]]
    outer = [ring for ring in rings if ring.exterior.is_ccw]
    inner = [ring for ring in rings if not ring.exterior.is_ccw]
    written = shapely.difference(shapely.union_all(outer), shapely.union_all(inner), grid_size=1e-10)
    if (
        not all(ring.is_valid for ring in rings)
        or abs(sum(r.area for r in outer) - shapely.union_all(outer).area) > CLOSE
    ):
        yield "the rings of the folded outline cross themselves or one another"
    if (off := shapely.symmetric_difference(faces, written, grid_size=1e-10).area) > CLOSE:
        yield f"the folded outline is {off:.1e} off"


def _misses_all(spec: dict[str, Any], stack: oracle.Stack, i: int) -> bool | None:
    """Whether a punch touches no layer; None when that cannot be said without its outline (a rough circle decides)."""
    at, size = oracle.point(spec["punches"][i]["at"]), F(spec["punches"][i]["size"])
    box = [(at[0] + sx * size, at[1] + sy * size) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    if all(oracle.removed(layer, box) == 0 for layer in stack):
        return True
    return False if any(layer.holds(at) and oracle.removed(layer, box) == 4 * size**2 for layer in stack) else None


def _layers(got: dict[str, Any], stack: oracle.Stack, outlines: list[list[oracle.Point]]) -> Iterator[str]:
    total = 0.0
    for i, outline in enumerate(outlines):
        areas = [float(oracle.removed(layer, outline)) for layer in stack]
        total += sum(areas)
        clear = sum(a > 2 * LEAST for a in areas)
        doubtful = sum(LEAST / 2 < a <= 2 * LEAST for a in areas)
        if not clear <= got["layers"][i] <= clear + doubtful:
            yield f"punch {i} goes through {clear} layers, engine says {got['layers'][i]}"
    apart = not any(shapely.Polygon(a).intersects(shapely.Polygon(b)) for a, b in _pairs(got["punches"]))
    found = sum(hole_polygon(h).area for h in got["holes"])
    if apart and abs(total - found) > CLOSE:
        yield f"the punches take {total:.12f} of paper, the engine's holes {found:.12f}"


def _pairs(items: list[Any]) -> Iterator[tuple[Any, Any]]:
    return ((a, b) for i, a in enumerate(items) for b in items[i + 1 :])


def hole_polygon(hole: dict[str, Any]) -> shapely.Polygon:
    return shapely.Polygon(hole["outline"], hole.get("inner", []))


def _faces(state: dict[str, Any], stack: oracle.Stack, k: int, rng: Random, points: int) -> Iterator[str]:
    """The stack at random points: what lies there on the flat sheet, bottom to top."""
    folded = [shapely.Polygon(f["folded"]) for f in state["faces"]]
    if len(folded) != len(stack):
        yield f"state {k} has {len(stack)} faces, engine says {len(folded)}"
        return
    for polygon, face in zip(folded, state["faces"], strict=True):
        if not polygon.is_valid or abs(polygon.area - shapely.Polygon(face["flat"]).area) > CLOSE:
            yield f"a face of state {k} is no true image of its piece of the sheet"
    for _ in range(points):
        p = _random_point(rng, stack)
        if any(f.exterior.distance(shapely.Point(*map(float, p))) < 1e-7 for f in folded):
            continue
        mine = oracle.layers_at(stack, p)
        under = [i for i, f in enumerate(folded) if f.contains(shapely.Point(*map(float, p)))]
        theirs = [_pulled_back(state["faces"][i], p) for i in under]
        if len(mine) != len(theirs) or not np.allclose(np.array(mine, float), np.array(theirs), atol=CLOSE, rtol=0):
            yield f"state {k}: at {_shown(p)} lie {[_shown(q) for q in mine]}, engine says {theirs}"
            return


def _random_point(rng: Random, stack: oracle.Stack) -> oracle.Point:
    cell = rng.choice(rng.choice(stack).lying())
    a, b, c = rng.sample(cell, 3) if len(cell) > 2 else (*cell, cell[0])
    s, t = sorted((F(rng.randint(1, 9999), 10_000), F(rng.randint(1, 9999), 10_000)))
    return tuple(s * a[i] + (t - s) * b[i] + (1 - t) * c[i] for i in (0, 1))  # type: ignore[return-value]


def _pulled_back(face: dict[str, Any], p: oracle.Point) -> list[float]:
    """The flat place of a folded point, from three corners of the face in both places."""
    flat, folded = np.array(face["flat"]), np.array(face["folded"])
    if face["turned"]:
        folded = folded[::-1]
    corners = np.column_stack([folded, np.ones(len(folded))])
    solved, *_ = np.linalg.lstsq(corners, flat, rcond=None)
    return [float(v) for v in np.array([float(p[0]), float(p[1]), 1.0]) @ solved]


def _flat_holes(
    got: dict[str, Any],
    states: list[oracle.Stack],
    lines: list[oracle.Line],
    outlines: list[list[oracle.Point]],
    spec: dict[str, Any],
    rng: Random,
    points: int,
) -> Iterator[str]:
    """Random points of the sheet, many of them near a hole: in a hole or not."""
    holes = [hole_polygon(h) for h in got["holes"]]
    if says := _faulty(holes):
        yield says
        return
    flat_folds = all(fold.get("layers", "all") == "all" for fold in spec["folds"])
    rim = shapely.MultiLineString([ring for h in holes for ring in (h.exterior, *h.interiors)])
    for _ in range(points):
        p = _random_point(rng, states[0]) if rng.random() < 0.4 else _point_near_hole(rng, got["holes"])
        place = shapely.Point(*map(float, p))
        if not states[0][0].holds(p) or rim.distance(place) < 1e-7:
            continue
        inside = oracle.in_hole(states[-1], outlines, p)
        if flat_folds and inside != any(oracle.in_outline(o, oracle.folded_place(lines, p)) for o in outlines):
            yield f"the oracle's two ways differ at {_shown(p)}"
        if inside != any(hole.contains(place) for hole in holes):
            yield f"{_shown(p)} is {'in a hole' if inside else 'paper'}, engine says otherwise"
            return


def _faulty(holes: list[shapely.Polygon]) -> str | None:
    """Every hole is a simple polygon, and no two overlap (they may touch in points)."""
    for i, hole in enumerate(holes):
        if not hole.is_valid:
            return f"hole {i} is no simple polygon: {shapely.is_valid_reason(hole)}"
        if any(shapely.Polygon(ring).area < LEAST for ring in shapely.get_rings(hole)):
            return f"hole {i} has a ring of next to no area"
    together = shapely.union_all(holes, grid_size=1e-10).area if holes else 0.0
    apart = sum(hole.area for hole in holes)
    return None if abs(together - apart) < CLOSE else f"holes overlap by {apart - together:.2e}"


def _point_near_hole(rng: Random, holes: list[dict[str, Any]]) -> oracle.Point:
    x, y = rng.choice(rng.choice(holes)["outline"])
    return F(x) + F(rng.randint(-500, 500), 10_000), F(y) + F(rng.randint(-500, 500), 10_000)


def _outlines_true(got: dict[str, Any], stack: oracle.Stack, outlines: list[list[oracle.Point]]) -> Iterator[str]:
    """Every vertex of every hole lies on the image of a punch's outline or on the rim of its layer."""
    rims = [shapely.LinearRing(np.array(o, float)) for o in outlines]
    inverse = [(oracle.undone(layer.matrix), layer) for layer in stack]
    for hole in got["holes"]:
        for ring in [hole["outline"], *hole.get("inner", [])]:
            for x, y in ring:
                off = min((_off(x, y, layer, rims) for _, layer in inverse), default=1)
                if off > CLOSE:
                    yield f"the vertex ({x}, {y}) of a hole is {off:.1e} off"
                    return


def _off(x: float, y: float, layer: oracle.Layer, rims: list[shapely.LinearRing]) -> float:
    place = shapely.Point(x, y)
    cells = [shapely.Polygon(np.array(c, float)) for c in layer.cells]
    if min(c.distance(place) for c in cells) > CLOSE:
        return 1.0
    a, b, c, d, e, f = map(float, layer.matrix)
    folded = shapely.Point(a * x + b * y + e, c * x + d * y + f)
    return min([r.distance(folded) for r in rims] + [cell.exterior.distance(place) for cell in cells])


def _seen_holes(
    state: dict[str, Any],
    states: list[oracle.Stack],
    k: int,
    outlines: list[list[oracle.Point]],
    rng: Random,
    points: int,
) -> Iterator[str]:
    """While folds are still made, a hole is seen where the uppermost layer has one."""
    holes = [hole_polygon(h) for h in state["holes"]]
    if says := _faulty(holes):
        yield f"state {k}: {says}"
        return
    rims = [ring for h in holes for ring in (h.exterior, *h.interiors)]
    edges = shapely.MultiLineString(rims + [shapely.LinearRing(f["folded"]) for f in state["faces"]])
    for _ in range(points):
        p = _random_point(rng, states[k])
        if state["holes"] and rng.random() < 0.7:
            p = _point_near_hole(rng, state["holes"])
        place = shapely.Point(*map(float, p))
        flat = oracle.layers_at(states[k], p)
        if not flat or edges.distance(place) < 1e-7:
            continue
        inside = oracle.in_hole(states[-1], outlines, flat[-1])
        if inside != any(hole.contains(place) for hole in holes):
            yield f"state {k}: at {_shown(p)} one sees {'a hole' if inside else 'paper'}, engine says otherwise"
            return


def _shown(p: oracle.Point) -> str:
    return f"({float(p[0]):.4f}, {float(p[1]):.4f})"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", type=int, nargs="*", default=[], help="these seeds and no others")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folds", type=int, nargs=2, default=(1, 4))
    parser.add_argument("--flaps", type=float, default=0.5)
    parser.add_argument("--convex", type=float, default=0.6)
    args = parser.parse_args()
    tally: Counter[str] = Counter()
    for seed in args.only or range(args.seed, args.seed + args.count):
        rng = Random(seed)
        spec = random_spec(rng, folds=tuple(args.folds), flaps=args.flaps, convex=args.convex)
        try:
            found = list(disagreements(spec, rng))
        except Exception as error:
            found = [f"{type(error).__name__}: {error}"]
        tally["specs"] += 1
        tally["flaps"] += any(f.get("layers", "all") != "all" for f in spec["folds"])
        tally["disagree"] += bool(found)
        for says in found:
            print(f"seed {seed}: {says}\n    {json.dumps(spec)}")
    print(dict(tally))
    return 1 if tally["disagree"] else 0


if __name__ == "__main__":
    sys.exit(main())
