"""An option: its holes are the geometry's, and its bytes depend on the drawn region alone."""

from __future__ import annotations

import io
from math import cos, pi, sin
from random import Random

import cairosvg
import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy import ndimage

from geometry.pictures import SIZES, THEMES, draw_option
from geometry.pictures.frame import frame_of
from geometry.pictures.outlines import corners, outline_path
from geometry.shapes import SHAPES
from geometry.spec import Sheet
from tests.geometry.gallery import GALLERY, at_random, drawn
from tests.geometry.svg_reading import UNITS, Read, read_svg

SQUARE = Sheet()
GRAIN = 1 / UNITS


def regions(name: str) -> list[shapely.Polygon]:
    return [hole.region for hole in drawn(name).holes()]


def read_option(sheet: Sheet, holes: list[shapely.Polygon], theme: str = "screen") -> Read:
    frame = frame_of(sheet)
    return read_svg(draw_option(sheet, holes, theme).svg, left=frame.left, top=frame.top)


def rounding(regions: list[shapely.Polygon]) -> float:
    """How much the area may change when every vertex moves by at most half a unit in x and y."""
    return sum(region.length for region in regions) * GRAIN * 0.75 + 1e-9


@pytest.mark.parametrize("name", GALLERY)
def test_areas_of_holes_read_back_are_the_geometry_s(name):
    unfolding = drawn(name)
    holes = [hole.region for hole in unfolding.holes()]
    read = read_option(unfolding.spec.sheet, holes)
    true = shapely.union_all(holes, grid_size=1e-9)
    assert read.marks[1].region.area == pytest.approx(true.area, abs=rounding(holes))
    off = shapely.symmetric_difference(read.marks[1].region, true, grid_size=1e-9)
    assert off.area <= 2 * rounding(holes)


def test_areas_agree_on_random_specs_with_flaps_and_sheets_of_any_outline():
    for unfolding in at_random(40):
        holes = [hole.region for hole in unfolding.holes()]
        drawn_area = read_option(unfolding.spec.sheet, holes).marks[1].region.area
        assert drawn_area == pytest.approx(sum(h.area for h in holes), abs=rounding(holes))


@pytest.mark.parametrize("name", GALLERY)
def test_the_sheet_is_drawn_at_its_true_size(name):
    unfolding = drawn(name)
    sheet = read_option(unfolding.spec.sheet, []).marks[0]
    flat = unfolding.folded.states[0].outline
    assert sheet.region.area == pytest.approx(flat.area, abs=rounding([flat]))
    assert sheet.region.bounds == pytest.approx(flat.bounds, abs=GRAIN)


@given(st.randoms(use_true_random=False), st.sampled_from(sorted(GALLERY)))
@settings(max_examples=150, deadline=None)
def test_same_region_same_bytes_however_it_came_about(rng: Random, name: str):
    unfolding = drawn(name)
    holes = [hole.region for hole in unfolding.holes()]
    disguised = [disguise(hole, rng) for hole in holes]
    rng.shuffle(disguised)
    sheet = unfolding.spec.sheet
    assert draw_option(sheet, disguised).svg == draw_option(sheet, holes).svg


def disguise(region: shapely.Polygon, rng: Random) -> shapely.Polygon:
    """The same region told otherwise: another first vertex, the other way round, vertices on its edges, noise."""
    rings = []
    for ring in (region.exterior, *region.interiors):
        points = shapely.get_coordinates(ring)[:-1].tolist()
        for _ in range(rng.randrange(3)):
            i = rng.randrange(len(points))
            t = rng.random()
            points.insert(i, [t * a + (1 - t) * b for a, b in zip(points[i - 1], points[i], strict=True)])
        k = rng.randrange(len(points))
        points = points[k:] + points[:k]
        if rng.random() < 0.5:
            points.reverse()
        rings.append([[c + rng.uniform(-1e-13, 1e-13) for c in p] for p in points])
    return shapely.Polygon(rings[0], rings[1:])


@pytest.mark.parametrize("name", GALLERY)
def test_parsed_and_redrawn_it_has_the_same_bytes(name):
    unfolding = drawn(name)
    sheet = unfolding.spec.sheet
    first = draw_option(sheet, [hole.region for hole in unfolding.holes()])
    parsed = read_option(sheet, [hole.region for hole in unfolding.holes()]).marks[1].region
    again = draw_option(sheet, shapely.get_parts(parsed).tolist())
    assert body(again.svg) == body(first.svg)


@given(st.integers(3, 40), st.floats(0.001, 0.2), st.randoms(use_true_random=False))
@settings(max_examples=200, deadline=None)
def test_parsed_and_redrawn_outlines_of_any_fineness_have_the_same_bytes(n: int, radius: float, rng: Random):
    points = [
        (
            0.5 + radius * rng.uniform(0.4, 1) * cos(2 * pi * i / n),
            0.5 + radius * rng.uniform(0.4, 1) * sin(2 * pi * i / n),
        )
        for i in range(n)
    ]
    hole = shapely.Polygon(points)
    if not hole.is_valid or hole.area < 1e-6:
        return
    path = outline_path(frame_of(SQUARE), [hole])
    units = np.array(path.strip("Mz ").split(), dtype=float).reshape(-1, 2)
    sheet_points = np.column_stack([(units[:, 0] - 600) / UNITS, 1 - (units[:, 1] - 600) / UNITS])
    if len(units) >= 3 and shapely.Polygon(units).is_valid:
        assert outline_path(frame_of(SQUARE), [shapely.Polygon(sheet_points)]) == path


def body(svg: str) -> str:
    return svg[svg.index("</desc>") :]


def test_pieces_that_were_joined_leave_no_trace():
    disc = shapely.Polygon(SHAPES["disc"].outline * 0.1 + (0.5, 0.5))
    left, right = (
        shapely.intersection(disc, shapely.box(*b), grid_size=1e-10) for b in ((0, 0, 0.5, 1), (0.5, 0, 1, 1))
    )
    slanted = shapely.Polygon([(0, 0), (1, 0.97), (1, 0)])
    cut = [shapely.intersection(disc, slanted, grid_size=1e-10), shapely.difference(disc, slanted, grid_size=1e-10)]
    plain = draw_option(SQUARE, [disc]).svg
    assert draw_option(SQUARE, [shapely.union_all([left, right], grid_size=1e-10)]).svg == plain
    assert draw_option(SQUARE, [shapely.union_all(cut, grid_size=1e-10)]).svg == plain


@pytest.mark.parametrize("name", GALLERY)
def test_every_option_is_two_paths_without_names(name):
    for holes in (regions(name), regions(name)[:1], regions(name) * 2):
        read = read_option(drawn(name).spec.sheet, holes)
        assert len(read.marks) == 2
        assert not any("id" in mark.attributes or "class" in mark.attributes for mark in read.marks)


def test_only_the_title_tells_options_apart():
    holes = regions("three")
    a, b = (draw_option(SQUARE, holes, title=f"Option {letter}") for letter in "AB")
    assert a.svg.replace("Option A", "Option B") == b.svg
    assert a.description == b.description == "A sheet of paper with eight holes."


def test_the_description_only_counts():
    few, other = regions("three")[:4], regions("three")[4:]
    assert draw_option(SQUARE, few).description == draw_option(SQUARE, other).description


def test_island_of_paper_in_a_hole_is_left_white():
    frame = shapely.Polygon(
        [(0.2, 0.2), (0.8, 0.2), (0.8, 0.8), (0.2, 0.8)], [[(0.4, 0.4), (0.6, 0.4), (0.6, 0.6), (0.4, 0.6)]]
    )
    read = read_option(SQUARE, [frame])
    assert read.marks[1].region.area == pytest.approx(0.36 - 0.04)
    assert not read.marks[1].region.covers(shapely.Point(0.5, 0.5))


def test_a_vertex_that_draws_nothing_is_left_out():
    assert corners([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)], 0.0) == [(0, 0), (2, 0), (2, 2), (0, 2)]
    assert corners([(0, 0), (2, 0), (2, 0), (2, 2), (2, 2), (0, 2), (0, 1)], 0.0) == [(0, 0), (2, 0), (2, 2), (0, 2)]
    assert corners([(1, 0), (2, 0), (2, 2), (0, 2), (0, 0)], 0.0) == [(2, 0), (2, 2), (0, 2), (0, 0)]


# --- as a printer and a screen show it -----------------------------------------------------------------------------

MM30_AT_300_DPI = round(30 / 25.4 * 300)  # 354 pixels


def rasterised(svg: str, pixels: int) -> np.ndarray:
    """Grey levels of the picture as another program (cairo) draws and another (Pillow) reads it."""
    data = cairosvg.svg2png(svg.encode(), output_width=pixels, output_height=pixels, background_color="white")
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"), dtype=float)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("shape", SHAPES)
def test_at_30_mm_and_300_dpi_each_hole_has_its_area_in_pixels(shape, theme):
    size, centres = 1 / 8, [(0.25, 0.3), (0.7, 0.75), (0.3, 0.8)]
    holes = [shapely.Polygon(SHAPES[shape].outline * size + c) for c in centres]
    grey = rasterised(draw_option(SQUARE, holes, theme).svg, MM30_AT_300_DPI)
    pixel = 9600 / MM30_AT_300_DPI / UNITS  # sheet widths
    paper, ink = grey.max(), grey.min()
    darkness = (paper - grey) / (paper - hole_grey(theme))
    for hole in holes:
        left, bottom, right, top = hole.buffer(3 * pixel).bounds
        x = slice(int((left + 600 / UNITS) / pixel), int((right + 600 / UNITS) / pixel) + 2)
        y = slice(int((1 - top + 600 / UNITS) / pixel), int((1 - bottom + 600 / UNITS) / pixel) + 2)
        assert darkness[y, x].sum() * pixel**2 == pytest.approx(hole.area, rel=0.02)
    assert paper - ink > 180


def hole_grey(theme: str) -> float:
    colour = THEMES[theme].hole
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue  # ITU-R BT.601, which Pillow's mode "L" uses


@pytest.mark.parametrize("size", SIZES)
def test_holes_stay_apart_at_every_size_drawn_for(size):
    holes = [
        shapely.affinity.translate(shapely.Polygon(SHAPES["disc"].outline / 8), x, y)
        for x in (0.2, 0.5, 0.8)
        for y in (0.2, 0.8)
    ]
    grey = rasterised(draw_option(SQUARE, holes, size=size).svg, SIZES[size].pixels)
    inside = grey[
        SIZES[size].pixels // 8 : -SIZES[size].pixels // 8, SIZES[size].pixels // 8 : -SIZES[size].pixels // 8
    ]
    assert ndimage.label(inside < 128)[1] == 6


def test_edges_of_a_thumbnail_are_crisp():
    grey = rasterised(draw_option(SQUARE, [], size="thumb").svg, 24)
    assert (np.sort(grey[12])[:2] < 60).all()  # two dark columns, one pixel each
    assert (np.sort(grey[12])[2:] > 230).all()
