"""A drawing as a bitmap, by CairoSVG."""

from __future__ import annotations


def bitmap(svg: str, *, width: int | None = None, scale: float = 1.0) -> bytes:
    """The PNG of a drawing, ``width`` pixels wide or ``scale`` times its own size; on no ground, without words."""
    import cairosvg  # only PNG needs the cairo library

    return cairosvg.svg2png(bytestring=svg.encode(), output_width=width, scale=scale)
