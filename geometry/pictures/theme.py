"""How each kind of mark looks: colours by theme, line weights by size, one pen for each part of a drawing.

Stored pictures carry plain values, no variables and no style sheet, so each pen is a run of presentation attributes.
``print`` is pure black and white: the turned side is a dot screen, which no crease can be mistaken for.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from geometry.pictures.frame import STANDARD

SCREEN_PITCH = 4.2  # between the dots of a screen, in line weights


@dataclass(frozen=True)
class Theme:
    """The colours of a drawing. ``screened`` means that the turned side is a dot screen, and tints are left out."""

    name: str
    front: str
    turned: str
    front_shade: str
    turned_shade: str
    front_opened: str
    turned_opened: str
    ink: str
    ghost: str
    hole: str
    blue: str
    red: str
    red_tint: str
    screened: bool = False


THEMES = {
    theme.name: theme
    for theme in (
        Theme(
            "screen",
            front="#FFFEFA",
            turned="#F3C48C",
            front_shade="#DDE0D6",
            turned_shade="#D9A262",
            front_opened="#E3EDF3",
            turned_opened="#F9DFBF",
            ink="#1B2523",
            ghost="#5D6A63",
            hole="#1F3B34",
            blue="#0B4A83",
            red="#961616",
            red_tint="#E3B4AE",
        ),
        Theme(
            "print",
            front="#FFFFFF",
            turned="#FFFFFF",
            front_shade="#FFFFFF",
            turned_shade="#FFFFFF",
            front_opened="#FFFFFF",
            turned_opened="#FFFFFF",
            ink="#000000",
            ghost="#000000",
            hole="#000000",
            blue="#000000",
            red="#000000",
            red_tint="#FFFFFF",
            screened=True,
        ),
        Theme(
            "contrast",
            front="#FFFFFF",
            turned="#FFFFFF",
            front_shade="#FFFFFF",
            turned_shade="#FFFFFF",
            front_opened="#FFFFFF",
            turned_opened="#FFFFFF",
            ink="#000000",
            ghost="#000000",
            hole="#000000",
            blue="#00307A",
            red="#8A0000",
            red_tint="#FFFFFF",
            screened=True,
        ),
    )
}


@dataclass(frozen=True)
class Size:
    """A size of drawing: how many pixels a square sheet's frame takes, and how many its lines."""

    name: str
    pixels: int
    line: float

    @property
    def unit(self) -> float:
        """The weight of an ordinary line, in units of the frame."""
        return self.line * STANDARD / self.pixels

    @property
    def pitch(self) -> int:
        """Between the dots of a screen, in units of the frame: an even number."""
        return 2 * round(SCREEN_PITCH * self.unit / 2)

    @property
    def lee(self) -> float:
        """How wide a strip beside an edge that lies on paper is shaded, in line weights; 0 where it would only blur."""
        return 1.6 if self.pixels > 40 else 0.0

    @property
    def leaf(self) -> float:
        """How far a flush layer peeps out, in line weights; 0 where it would only blur."""
        return 1.45 if self.pixels > 120 else 0.0

    @property
    def has_ties(self) -> bool:
        """False for thumbnails, where ties would hide what they join."""
        return self.pixels > 40


SIZES = {
    size.name: size
    for size in (Size("thumb", 24, 1), Size("small", 76, 1.25), Size("normal", 240, 1.75), Size("large", 480, 2.25))
}


@dataclass(frozen=True)
class Style:
    """A theme at a size, with a pen (a run of presentation attributes) for each kind of mark."""

    theme: Theme
    size: Size
    pens: dict[str, str]


@lru_cache(maxsize=64)
def style(theme: str, size: str) -> Style:
    """The style of that name. Raises ``ValueError`` naming the themes or sizes there are."""
    if theme not in THEMES:
        raise ValueError(f"There is no theme “{theme}”; there are {', '.join(THEMES)}.")
    if size not in SIZES:
        raise ValueError(f"There is no size “{size}”; there are {', '.join(SIZES)}.")
    return Style(THEMES[theme], SIZES[size], _pens(THEMES[theme], SIZES[size]))


def _pens(theme: Theme, size: Size) -> dict[str, str]:
    unit = size.unit

    def line(colour: str, weight: float, dashes: tuple[float, ...] = (), *, cap: str = "butt") -> str:
        width = f'fill="none" stroke="{colour}" stroke-width="{round(weight * unit)}"'
        dash = f' stroke-dasharray="{" ".join(str(max(1, round(d * unit))) for d in dashes)}"' if dashes else ""
        return f'{width}{dash} stroke-linecap="{cap}" stroke-linejoin="round"'

    def fill(colour: str) -> str:
        return f'fill="{colour}" fill-rule="evenodd"'

    def outlined(colour: str, edge: str, weight: float) -> str:
        return f'{fill(colour)} stroke="{edge}" stroke-width="{round(weight * unit)}" stroke-linejoin="round"'

    sheet = f'fill="{theme.front}" stroke="{theme.ink}" stroke-width="{round(unit)}" stroke-linejoin="miter"'
    new = outlined(theme.front, theme.ink, 1) if theme.name == "print" else fill(theme.blue)
    return {
        "sheet": sheet,
        "front": fill(theme.front),
        "turned": fill(theme.turned),
        "front shade": fill(theme.front_shade),
        "turned shade": fill(theme.turned_shade),
        "front opened": fill(theme.front_opened),
        "turned opened": fill(theme.turned_opened),
        "screen": f'{line(theme.ink, 1.15, cap="square")} stroke-dasharray="1 {size.pitch - 1}"',
        "edge": line(theme.ink, 1, cap="round"),
        "leaf front": outlined(theme.front, theme.ghost, 0.5),
        "leaf turned": outlined(theme.turned, theme.ghost, 0.5),
        "was": line(theme.ghost, 0.9, (0, 2.6), cap="round"),
        "halo": line(theme.front, 2.9, cap="round"),
        "valley": line(theme.blue, 1.1, (4.6, 2.6)),
        "mountain": line(theme.blue, 1.1, (6, 2, 1.2, 2, 1.2, 2)),
        "mirror": line(theme.blue, 1, (9, 2.4, 1.4, 2.4)),
        "crease": line(theme.blue, 0.55, (3.2, 2.6)),
        "arrow": line(theme.blue, 1.15, cap="round"),
        "arrow beneath": line(theme.blue, 1.15, (2.2, 2.4)),
        "head": fill(theme.blue),
        "hollow head": outlined(theme.front, theme.blue, 1),
        "grip": outlined(theme.front, theme.blue, 1.1),
        "hole": fill(theme.hole),
        "new": new,
        "new rim": line(theme.blue, 1.2),
        "tie": line(theme.blue, 0.6),
        "left": line(theme.ghost, 0.8, (0, 2.2), cap="round"),
        "wrong": outlined(theme.red_tint, theme.red, 0.9),
        "wrong mirror": line(theme.red, 0.9, (3, 2.4)),
        "ring": line(theme.red, 1.5, cap="round"),
        "true": line(theme.ink, 1, (0, 2.2), cap="round"),
    }
