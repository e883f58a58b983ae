"""Bitmaps of drawings, held against another renderer: librsvg, which shares no code with CairoSVG but cairo itself."""

from __future__ import annotations

import io

import cairosvg
import numpy as np
import pytest
import pyvips
from PIL import Image

from geometry.pictures import draw_stem, draw_steps
from geometry.pictures.bitmap import bitmap
from tests.geometry.gallery import drawn


def on_white(png: bytes) -> np.ndarray:
    image = Image.open(io.BytesIO(png)).convert("RGBA")
    paper = Image.new("RGBA", image.size, "white")
    paper.alpha_composite(image)
    return np.asarray(paper.convert("RGB"), dtype=int)


@pytest.mark.parametrize("width", [400, 800])
def test_two_renderers_draw_the_same_picture(width):
    """At most two of 255 levels apart, but at the edges of an arrow's curve, fewer than one pixel in a thousand: no
    line that one draws and the other does not."""
    for picture in (*draw_stem(drawn("three")), *draw_steps(drawn("three"))):
        ours = on_white(bitmap(picture.svg, width=width))
        drawing = pyvips.Image.thumbnail_buffer(picture.svg.encode(), width)
        other = on_white(drawing.pngsave_buffer(keep="none"))
        assert ours.shape == other.shape == (width, width, 3)
        apart = np.abs(ours - other).max(axis=2)
        assert apart.max() <= 40
        assert (apart > 2).mean() < 0.001


def test_every_pixel_is_what_cairosvg_writes_itself():
    """With a palette and, where there are too many colours for one, without."""
    kinds = set()
    for width, picture in zip([40, 400, 800], draw_stem(drawn("three")), strict=False):
        ours = Image.open(io.BytesIO(bitmap(picture.svg, width=width)))
        whole = Image.open(io.BytesIO(cairosvg.svg2png(picture.svg.encode(), output_width=width)))
        kinds.add(ours.mode)
        assert (np.asarray(ours.convert("RGBA")) == np.asarray(whole)).all()
    assert kinds == {"P", "RGBA"}


def test_a_scale_multiplies_the_size_of_the_drawing():
    svg = draw_stem(drawn("three"))[0].svg
    once, thrice = (Image.open(io.BytesIO(bitmap(svg, scale=scale))).size for scale in (1, 3))
    assert thrice == tuple(3 * side for side in once)
