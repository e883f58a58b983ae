"""Pictures of a question in one visual language, each derived from its spec and nothing else.

``draw_stem``, ``draw_option``, ``draw_steps`` and ``draw_marked_option`` give ``Picture`` values: standalone SVG 1.1
with a title and a description in plain words. Every picture of a question is drawn to one scale.
"""

from geometry.pictures.marked import draw_marked_option
from geometry.pictures.option import draw_option
from geometry.pictures.stem import draw_stem
from geometry.pictures.steps import draw_steps
from geometry.pictures.svg import Picture
from geometry.pictures.theme import SIZES, THEMES
from geometry.pictures.turning import FlapTurn, flap_turn

__all__ = [
    "SIZES",
    "THEMES",
    "FlapTurn",
    "Picture",
    "draw_marked_option",
    "draw_option",
    "draw_stem",
    "draw_steps",
    "flap_turn",
]
