"""A drawing as a bitmap: drawn by CairoSVG, written as PNG by Pillow.

CairoSVG's own PNG takes six times as long to write as to draw: four bytes for every pixel, each row tried in five ways.
Our drawings are of few colours in long runs, so a palette says the same, pixel for pixel.
"""

from __future__ import annotations

import io
import zlib

import numpy as np
from numpy.typing import NDArray

MOST = 256  # colours in a palette


def bitmap(svg: str, *, width: int | None = None, scale: float = 1.0) -> bytes:
    """The PNG of a drawing, ``width`` pixels wide or ``scale`` times its own size; on no ground, without words."""
    from cairosvg.parser import Tree  # only PNG needs the cairo library
    from cairosvg.surface import PNGSurface

    tree = Tree(bytestring=svg.encode(), unsafe=False)
    surface = PNGSurface(tree, None, 96, output_width=width, scale=scale).cairo  # None: nothing written
    surface.flush()
    wide, high = surface.get_width(), surface.get_height()
    rows = np.frombuffer(surface.get_data(), np.uint32).reshape(high, surface.get_stride() // 4)
    return png(rows[:, :wide])


def png(pixels: NDArray[np.uint32]) -> bytes:
    """The PNG of rows of pixels as cairo keeps them: alpha, red, green, blue, these three multiplied by alpha."""
    from PIL import Image

    high, wide = pixels.shape
    flat = pixels.ravel()
    starts = np.concatenate([[0], np.flatnonzero(flat[1:] != flat[:-1]) + 1])
    colours, of_run = np.unique(flat[starts], return_inverse=True)
    lengths = np.diff(np.append(starts, flat.size))
    said = _straight(colours)
    if len(colours) > MOST:
        image = Image.fromarray(np.repeat(said[of_run], lengths, axis=0).reshape(high, wide, 4))
    else:
        image = Image.fromarray(np.repeat(of_run.astype(np.uint8), lengths).reshape(high, wide))
        image.putpalette(said.tobytes(), "RGBA")
    out = io.BytesIO()
    image.save(out, "PNG", compress_type=zlib.Z_RLE)  # long runs are all that is to be found
    return out.getvalue()


def _straight(colours: NDArray[np.uint32]) -> NDArray[np.uint8]:
    """Red, green, blue and alpha of each colour, no longer multiplied, rounded as cairo rounds."""
    alpha, *rest = (colours >> shift & 255 for shift in (24, 16, 8, 0))
    safe = np.maximum(alpha, 1)
    return np.stack([*((part * 255 + safe // 2) // safe for part in rest), alpha], axis=1).astype(np.uint8)
