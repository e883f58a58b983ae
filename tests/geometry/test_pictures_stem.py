"""The stem: what is seen of folded paper, checked point by point against a count of layers; fold marks and arrows."""

from __future__ import annotations

from math import hypot

import numpy as np
import pytest
import shapely

from geometry.folding import Crease
from geometry.pictures import THEMES, draw_stem, draw_steps
from geometry.pictures.theme import Theme
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold
from tests.geometry.gallery import FALLING, GALLERY, LEVEL, RISING, UPRIGHT, at_random, drawn, punch, spec
from tests.geometry.svg_reading import Read, read_svg

SCREEN = THEMES["screen"]
PAPER = (SCREEN.front, SCREEN.front_shade), (SCREEN.turned, SCREEN.turned_shade)


def read_stem(unfolding: Unfolding, theme: str = "screen") -> list[Read]:
    left, _, _, top = unfolding.folded.states[0].outline.bounds
    return [read_svg(picture.svg, left=left, top=top) for picture in draw_stem(unfolding, theme)]


def papers(read: Read, theme: Theme = SCREEN) -> tuple[shapely.Geometry, shapely.Geometry]:
    """The front and the turned side as painted: plain fills, not the leaves (which have an outline)."""
    found = []
    for colour in (theme.front, theme.turned):
        fills = [m.region for m in read.marks if m.fill == colour and m.stroke is None]
        found.append(shapely.union_all(fills, grid_size=1e-9))
    return found[0], found[1]


def folded_and_flap_specs() -> list[Unfolding]:
    return [drawn(name) for name in GALLERY] + at_random(24)


def test_one_picture_for_each_fold_and_one_for_the_punches():
    assert [picture.title for picture in draw_stem(drawn("three"))] == [
        "Fold 1",
        "Fold 2",
        "Fold 3",
        "Folded and punched",
    ]


def test_the_topmost_layer_is_what_is_painted_at_every_point():
    """Layers are counted by a point-in-polygon test on the faces, which shares nothing with the overlays."""
    rng = np.random.default_rng(1)
    for unfolding in folded_and_flap_specs():
        for state, read in zip(unfolding.folded.states[1:], read_stem(unfolding), strict=False):
            front, turned = papers(read)
            left, bottom, right, top = state.outline.bounds
            points = rng.uniform((left - 0.02, bottom - 0.02), (right + 0.02, top + 0.02), (40, 2))
            for x, y in points:
                shown = topmost(state.faces, x, y)
                if shown == "near an edge":
                    continue
                assert (covers(front, x, y), covers(turned, x, y)) == (shown == "front", shown == "turned")


def topmost(faces, x: float, y: float) -> str:
    """Which side shows at a point, by ray casting from the top of the stack down; points near an edge are left out."""
    for face in reversed(faces):
        ring = face.folded_xy
        if near_rim(ring, x, y):
            return "near an edge"
        if inside(ring, x, y):
            return "turned" if face.turned else "front"
    return "nothing"


def near_rim(ring: np.ndarray, x: float, y: float) -> bool:
    for (ax, ay), (bx, by) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        t = np.clip(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2), 0, 1)
        if hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay)) < 1e-3:
            return True
    return False


def inside(ring: np.ndarray, x: float, y: float) -> bool:
    crossings = 0
    for (ax, ay), (bx, by) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            crossings += 1
    return crossings % 2 == 1


def covers(region: shapely.Geometry, x: float, y: float) -> bool:
    return bool(shapely.contains_xy(region, x, y))


def test_nothing_hidden_is_in_the_picture():
    """Front and turned side do not overlap, and together they are the folded outline: no layer lies beneath another."""
    for unfolding in folded_and_flap_specs():
        for state, read in zip(unfolding.folded.states[1:], read_stem(unfolding), strict=False):
            front, turned = papers(read)
            grain = (front.length + turned.length) / 8400
            assert shapely.intersection(front, turned, grid_size=1e-9).area <= grain
            both = shapely.union_all([front, turned], grid_size=1e-9)
            assert shapely.symmetric_difference(both, state.outline, grid_size=1e-9).area <= grain


@pytest.mark.parametrize("name", GALLERY)
def test_dark_holes_of_the_last_picture_are_the_punches_on_the_paper(name):
    unfolding = drawn(name)
    dark = read_stem(unfolding)[-1].filled(SCREEN.hole)
    cut = shapely.union_all(unfolding.punches, grid_size=1e-9)
    true = shapely.intersection(cut, unfolding.folded.states[-1].outline, grid_size=1e-9)
    off = shapely.symmetric_difference(dark, true, grid_size=1e-9)
    assert off.area <= true.length / 8400


@pytest.mark.parametrize(
    ("crease", "moves"), [(UPRIGHT, [0, "1/2"]), (LEVEL, ["1/2", 0]), (RISING, [1, 0]), (FALLING, [1, 1])]
)
@pytest.mark.parametrize("way", ["over", "behind"])
def test_the_crease_is_a_dashed_line_that_runs_past_the_paper_at_both_ends(crease, moves, way):
    unfolding = unfold(read_spec(spec({"crease": crease, "moves": moves, "way": way}, punches=[])))
    (mark,) = dashed_creases(read_stem(unfolding)[0])
    (line,) = mark.lines
    (a, b) = (np.array([float(c) for c in p]) for p in (unfolding.folded.creases[0].a, unfolding.folded.creases[0].b))
    way_along = (b - a) / np.hypot(*(b - a))
    assert np.abs((line - a) @ (-way_along[1], way_along[0])).max() < 2 / 8400
    reach = sorted((line - a) @ way_along)
    length = np.sqrt(2) if crease in (RISING, FALLING) else 1.0
    assert reach == pytest.approx([-0.045, length + 0.045], abs=2 / 8400)
    dashes = mark.attributes["stroke-dasharray"].split()
    assert len(dashes) == (2 if way == "over" else 6)  # dashes; dash, dot, dot


def dashed_creases(read: Read) -> list:
    return [m for m in read.stroked(SCREEN.blue, dashed=True) if len(m.strokes) == 1 and len(m.strokes[0].units) == 2]


def test_no_solid_edge_runs_under_the_crease_of_the_step():
    for read in read_stem(drawn("half"))[:1]:
        for mark in read.stroked(SCREEN.ink, dashed=False):
            for line in mark.lines:
                assert not (np.abs(line[:, 0] - 0.5) < 1e-6).all()


def test_dots_show_where_paper_was_and_never_lie_on_paper():
    for unfolding in folded_and_flap_specs():
        for state, read in zip(unfolding.folded.states[1:], read_stem(unfolding), strict=False):
            inner = state.outline.buffer(-1e-3)
            dotted = [line for mark in read.stroked(SCREEN.ghost, dashed=True) for line in mark.lines]
            for line in dotted:
                assert shapely.LineString(line).intersection(inner).length < 1e-6


def test_dots_outline_the_sheet_and_the_paper_that_moved():
    read = read_stem(drawn("corner"))[0]
    dotted = shapely.union_all(
        [shapely.LineString(x) for m in read.stroked(SCREEN.ghost, dashed=True) for x in m.lines]
    )
    assert dotted.distance(shapely.Point(0, 0)) < 1e-3
    assert dotted.distance(shapely.Point(1, 1)) > 0.1


@pytest.mark.parametrize("name", GALLERY)
def test_the_arrow_leads_from_the_grip_to_where_it_lands(name):
    unfolding = drawn(name)
    for crease, read in zip(unfolding.folded.creases, read_stem(unfolding), strict=False):
        ring, shaft, tip = arrow(read)
        landing = crease.motion.carry_xy(ring[None, :])[0]
        assert hypot(*(tip - landing)) < 0.02
        assert hypot(*(shaft[0] - ring)) < 0.04
        assert np.diff(distance_to(crease, shaft)).max() < 0.05  # a smooth curve that crosses the crease once
        assert (np.diff(np.sign(distance_to(crease, shaft))) != 0).sum() == 1


def arrow(read: Read) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Centre of the ring, points of the whole shaft, tip of the head."""
    ring = read.marks[-1].lines[0]
    head = read.marks[-2].lines[0]
    curves = [m.lines[0] for m in read.stroked(SCREEN.blue) if len(m.lines[0]) == 25]
    shaft = np.concatenate(curves)
    return ring.mean(axis=0).round(3), shaft, head[0]


def distance_to(crease: Crease, points: np.ndarray) -> np.ndarray:
    a, b, c = (float(v) for v in crease.line)
    return (points @ (a, b) + c) / hypot(a, b)


def test_the_arrow_begins_at_the_point_that_a_fold_brings():
    ring, _, tip = arrow(read_stem(drawn("corner"))[0])
    assert ring == pytest.approx([0, 0], abs=2e-3)
    assert tip == pytest.approx([0.5, 0.25], abs=0.02)


def test_no_picture_has_both_an_arrow_and_a_hole_that_it_might_cover():
    for name in GALLERY:
        *folds, punched = read_stem(drawn(name))
        assert all(read.filled(SCREEN.hole).is_empty for read in folds)
        assert not punched.stroked(SCREEN.blue)


def test_the_head_of_a_fold_behind_is_hollow_and_one_sided_and_its_shaft_broken_beneath_the_paper():
    over, behind = (
        read_stem(unfold(read_spec(spec({"crease": LEVEL, "moves": ["1/2", 0], "way": way}, punches=[]))))[0]
        for way in ("over", "behind")
    )
    assert (over.marks[-2].fill, len(over.marks[-2].lines[0])) == (SCREEN.blue, 4)
    assert (behind.marks[-2].fill, len(behind.marks[-2].lines[0])) == (SCREEN.front, 3)
    broken = [m for m in behind.stroked(SCREEN.blue, dashed=True) if len(m.lines[0]) == 25]
    assert broken
    assert all(y >= 0.5 - 1e-2 for _, y in broken[0].lines[0])  # only where paper now hides it


def leaves(read: Read) -> shapely.Geometry:
    found = [m.region for m in read.marks if m.stroke == SCREEN.ghost and m.fill != "none"]
    return shapely.union_all(found, grid_size=1e-9)


def test_flush_ends_show_a_leaf_and_a_fold_shows_none():
    """Common practice of folding diagrams, no published source: two raw edges are two lines, a fold is one."""
    unfolding = unfold(read_spec(spec({"crease": UPRIGHT, "moves": [0, "1/2"]}, punches=[punch("disc", "3/4", "1/2")])))
    for read in read_stem(unfolding):
        strip = leaves(read)
        for x, y, expected in ((1.006, 0.5, True), (0.75, 1.006, True), (0.75, -0.006, True), (0.494, 0.5, False)):
            assert covers(strip, x, y) == expected


def test_a_single_layer_has_no_leaf():
    read = read_stem(drawn("corner"))[0]  # a corner folded up on the sheet: no two ends lie flush
    assert leaves(read).is_empty


def test_leaves_are_slim_and_keep_to_a_visible_edge():
    for unfolding in folded_and_flap_specs()[:30]:
        for read in read_stem(unfolding):
            solid = [line for m in read.stroked(SCREEN.ink, dashed=False) for line in m.lines]
            solid += [line for m in dashed_creases(read) for line in m.lines]
            near = shapely.union_all([shapely.LineString(line) for line in solid]).buffer(0.045)
            assert shapely.difference(leaves(read), near).area < 1e-6


def test_a_lee_marks_edges_that_lie_on_paper():
    read = read_stem(drawn("corner"))[0]
    shade = read.filled(SCREEN.front_shade)
    assert shade.area > 1e-3
    assert covers(shade, 0.5 + 0.004, 0.25 + 0.006)  # just beyond the corner that landed on the front
    assert not covers(shade, 0.8, 0.8)


def test_in_print_the_turned_side_is_dots_and_every_dot_lies_on_it():
    for name in ("half", "three", "corner", "flap"):
        unfolding = drawn(name)
        for screen, printed in zip(read_stem(unfolding), read_stem(unfolding, "print"), strict=True):
            _, turned = papers(screen)
            dots = dot_centres(printed)
            assert bool(dots) == (not turned.is_empty)
            assert all(covers(turned.buffer(1e-3), x, y) for x, y in dots)
            if dots:  # common practice of screens, no published source: an even tint, here of about a fifth
                assert 0.6 < len(dots) * PITCH**2 / 2 / turned.area < 1.1


PITCH = 294 / 8400  # between dots of a row, in sheet widths, at the normal size


def dot_centres(read: Read) -> list[tuple[float, float]]:
    centres = []
    for mark in read.marks:
        if mark.attributes.get("stroke-dasharray", "").startswith("1 29"):
            for stroke in mark.strokes:
                (x0, y), (x1, _) = stroke.units
                row = np.column_stack([np.arange(x0, x1 + 1, 294), np.full(len(np.arange(x0, x1 + 1, 294)), y)])
                centres += [tuple(p) for p in mark.to_sheet(row)]
    return centres


def test_thumbnails_leave_out_what_would_blur():
    full, thumb = draw_stem(drawn("three"))[-1], draw_stem(drawn("three"), size="thumb")[-1]
    assert len(thumb.svg) < len(full.svg)
    assert leaves(read_svg(thumb.svg)).is_empty


def test_the_first_step_is_the_last_picture_of_the_stem():
    for name in GALLERY:
        assert draw_steps(drawn(name))[0].svg == draw_stem(drawn(name))[-1].svg


def test_the_same_spec_gives_the_same_bytes():
    for name in GALLERY:
        assert draw_stem(drawn(name)) == draw_stem(drawn(name))


def test_a_sheet_without_folds_is_drawn_flat():
    (only,) = draw_stem(unfold(read_spec(spec(punches=[punch("disc", "1/2", "1/2")]))))
    assert read_svg(only.svg).filled(SCREEN.hole).area == pytest.approx(32 / 2 * np.sin(2 * np.pi / 32) / 256, abs=1e-4)
